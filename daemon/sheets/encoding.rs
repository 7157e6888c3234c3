//! Bytes become text: a byte order mark decides, else what was agreed, else the pattern of zero bytes, else valid
//! UTF-8, else Windows-1252.

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

/// The text of a file, of which an encoding may have been agreed. A byte order mark counts for more than that, as the
/// Encoding Standard of the WHATWG has it (section 6, 'decode').
pub(super) fn decode<'a>(bytes: &'a [u8], agreed: Option<&'static Encoding>) -> Decoded<'a> {
    let (encoding, mark_bytes) = match Encoding::for_bom(bytes) {
        Some((encoding, _)) if encoding == UTF_8 && std::str::from_utf8(bytes).is_err() => {
            (agreed.unwrap_or(WINDOWS_1252), 3)
        }
        Some(found) => found,
        None => (agreed.unwrap_or_else(|| unmarked(bytes)), 0),
    };
    let (text, damaged) = encoding.decode_without_bom_handling(&bytes[mark_bytes..]);
    let text = match text {
        Cow::Borrowed(text) => Cow::Borrowed(text.trim_end_matches('\u{1a}')),
        Cow::Owned(mut text) => {
            text.truncate(text.trim_end_matches('\u{1a}').len());
            Cow::Owned(text)
        }
    };
    Decoded { text, damaged }
}

/// The encoding of bytes without a mark. No guessing by letter frequency: on British sheets a guesser has taken
/// Windows-1252 for a Central European set, in which the pound sign is another letter.
fn unmarked(bytes: &[u8]) -> &'static Encoding {
    if let Some(encoding) = by_zero_bytes(bytes) {
        encoding
    } else if std::str::from_utf8(bytes).is_ok() {
        UTF_8
    } else {
        WINDOWS_1252
    }
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
