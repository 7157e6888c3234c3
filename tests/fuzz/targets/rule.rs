//! Fuzzes the door `rule`: three times in four word by word.
#![no_main]

#[path = "../doors/mod.rs"]
mod doors;
mod tokens;

libfuzzer_sys::fuzz_target!(|bytes: &[u8]| doors::enter("rule", bytes));

libfuzzer_sys::fuzz_mutator!(|data: &mut [u8], size: usize, max_size: usize, seed: u32| {
    match std::str::from_utf8(&data[..size]) {
        Ok(text) if seed % 4 != 0 => {
            let changed = tokens::changed(text, seed);
            let length = changed.floor_char_boundary(max_size);
            data[..length].copy_from_slice(&changed.as_bytes()[..length]);
            length
        }
        _ => libfuzzer_sys::fuzzer_mutate(data, size, max_size),
    }
});
