//! The frame number (VIN): its length, its letters, and the check digit that North America requires.

use crate::yard::FrameNumber;

/// The characters of a frame number since 1981 (ISO 3779, 49 CFR 565).
pub(super) const LENGTH: usize = 17;

/// The weights of the places (49 CFR 565.15, Table IV); the ninth is the check digit itself.
const WEIGHTS: [u32; LENGTH] = [8, 7, 6, 5, 4, 3, 2, 10, 0, 9, 8, 7, 6, 5, 4, 3, 2];

/// The place of the check digit, from 0.
const CHECK_DIGIT: usize = 8;

/// The check digit that a frame number's other characters ask for (49 CFR 565.15); `None` when it has not 17
/// characters or one that a frame number cannot have.
pub(super) fn check_digit(frame_no: &FrameNumber) -> Option<char> {
    let text = frame_no.as_str();
    if text.chars().count() != LENGTH {
        return None;
    }
    let mut sum = 0;
    for (letter, weight) in text.chars().zip(WEIGHTS) {
        sum += value(letter)? * weight;
    }
    match sum % 11 {
        10 => Some('X'),
        digit => char::from_digit(digit, 10),
    }
}

/// Whether a frame number's check digit is wrong where one is required: for North America, whose makers' codes
/// begin with 1 to 5. Elsewhere the ninth character need not be one and says nothing.
pub(super) fn check_digit_is_wrong(frame_no: &FrameNumber) -> bool {
    let required = matches!(frame_no.as_str().as_bytes().first(), Some(b'1'..=b'5'));
    let written = frame_no.as_str().chars().nth(CHECK_DIGIT);
    required && check_digit(frame_no).is_some_and(|asked| Some(asked) != written)
}

/// The value of a character (49 CFR 565.15, Table III); `None` for I, O, Q and all that is no letter or digit.
fn value(letter: char) -> Option<u32> {
    let value = match letter {
        '0'..='9' => letter.to_digit(10)?,
        'A'..='H' => u32::from(letter) - u32::from('A') + 1,
        'J'..='N' => u32::from(letter) - u32::from('J') + 1,
        'P' => 7,
        'R' => 9,
        'S'..='Z' => u32::from(letter) - u32::from('S') + 2,
        _ => return None,
    };
    Some(value)
}
