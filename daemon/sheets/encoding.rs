//! Bytes become text: a byte order mark decides, else the pattern of zero bytes, else valid UTF-8, else Windows-1252.

use std::borrow::Cow;

use encoding_rs::{Encoding, UTF_8, UTF_16BE, UTF_16LE, WINDOWS_1252};

/// A file's text.
#[derive(Debug, PartialEq)]
pub(super) struct Decoded<'a> {
    /// The text, without a byte order mark and without the end-of-file character of old programs.
    pub(super) text: Cow<'a, str>,
    /// Whether some bytes stood for no character.
    pub(super) damaged: bool,
}

/// How many bytes are looked at to find UTF-16 without a byte order mark: a page of rows says it as surely as all of
/// them.
const SAMPLE_BYTES: usize = 4_096;

/// The text of a file. No guessing by letter frequency: on British sheets a guesser has taken Windows-1252 for a Central
/// European set, in which the pound sign is another letter.
pub(super) fn decode(bytes: Cow<'_, [u8]>) -> Decoded<'_> {
    let unmarked = || (by_zero_bytes(&bytes).unwrap_or(UTF_8), 0);
    let (encoding, mark_bytes) = Encoding::for_bom(&bytes).unwrap_or_else(unmarked);
    if encoding != UTF_8 {
        return decode_as(encoding, &bytes[mark_bytes..]);
    }
    match utf_8(bytes, mark_bytes) {
        Ok(text) => Decoded { text, damaged: false },
        Err(bytes) => decode_as(WINDOWS_1252, &bytes[mark_bytes..]),
    }
}

fn decode_as<'a>(encoding: &'static Encoding, bytes: &[u8]) -> Decoded<'a> {
    let (text, damaged) = encoding.decode_without_bom_handling(bytes);
    let mut text = text.into_owned();
    text.truncate(without_end_of_file(&text).len());
    Decoded { text: Cow::Owned(text), damaged }
}

/// Bytes that are UTF-8 as a text, where they stand; others are given back.
fn utf_8(bytes: Cow<'_, [u8]>, mark_bytes: usize) -> Result<Cow<'_, str>, Cow<'_, [u8]>> {
    match bytes {
        Cow::Borrowed(bytes) => match std::str::from_utf8(bytes) {
            Ok(text) => Ok(Cow::Borrowed(without_end_of_file(&text[mark_bytes..]))),
            Err(_) => Err(Cow::Borrowed(bytes)),
        },
        Cow::Owned(bytes) => match String::from_utf8(bytes) {
            Ok(mut text) => {
                text.truncate(without_end_of_file(&text).len().max(mark_bytes));
                text.drain(..mark_bytes);
                Ok(Cow::Owned(text))
            }
            Err(error) => Err(Cow::Owned(error.into_bytes())),
        },
    }
}

fn without_end_of_file(text: &str) -> &str {
    text.trim_end_matches('\u{1a}')
}

/// UTF-16 of mostly Latin text has a zero in every other byte.
fn by_zero_bytes(bytes: &[u8]) -> Option<&'static Encoding> {
    let sample = &bytes[..bytes.len().min(SAMPLE_BYTES)];
    let zeros = |parity: usize| sample.iter().skip(parity).step_by(2).filter(|&&byte| byte == 0).count();
    let (even, odd, pairs) = (zeros(0), zeros(1), sample.len() / 2);
    if odd * 10 > pairs * 3 && even * 20 < pairs {
        Some(UTF_16LE)
    } else if even * 10 > pairs * 3 && odd * 20 < pairs {
        Some(UTF_16BE)
    } else {
        None
    }
}
