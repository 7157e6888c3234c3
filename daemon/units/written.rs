//! Figures written into a text, digit by digit: a round writes many thousands of them.

/// Adds a whole number: `1204`.
pub(super) fn write_count(count: u64, text: &mut String) {
    if count >= 10 {
        write_count(count / 10, text);
    }
    text.push(char::from(b'0' + (count % 10) as u8));
}

/// Adds a whole number with its thousands marked: `1,204`.
pub(super) fn write_with_thousands(count: u64, text: &mut String) {
    if count < 1_000 {
        return write_count(count, text);
    }
    write_with_thousands(count / 1_000, text);
    text.push(',');
    for digit in [count / 100, count / 10, count] {
        text.push(char::from(b'0' + (digit % 10) as u8));
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn whole_numbers_are_written_as_a_person_writes_them() {
        let written = |write: fn(u64, &mut String), count| {
            let mut text = String::from(">");
            write(count, &mut text);
            text
        };
        for (count, plain, marked) in [
            (0, ">0", ">0"),
            (7, ">7", ">7"),
            (90, ">90", ">90"),
            (999, ">999", ">999"),
            (1_000, ">1000", ">1,000"),
            (20_060, ">20060", ">20,060"),
            (1_234_005, ">1234005", ">1,234,005"),
            (u64::MAX, ">18446744073709551615", ">18,446,744,073,709,551,615"),
        ] {
            assert_eq!(written(write_count, count), plain);
            assert_eq!(written(write_with_thousands, count), marked);
        }
    }
}
