//! How near two registration marks come to each other: by one slip of the hand, a usual one or any other.

/// One slip; the earlier ones explain a mistyped mark better.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(in crate::yard) enum Slip {
    /// Signs that look alike, or two neighbours swapped.
    Usual,
    /// A letter replaced, added or dropped.
    Other,
}

/// Signs that are taken for one another, by eye or by hand. Common practice, no source.
const LOOK_ALIKE: [(u8, u8); 6] =
    [(b'O', b'0'), (b'B', b'8'), (b'G', b'6'), (b'S', b'5'), (b'I', b'1'), (b'Z', b'2')];

/// The one slip that makes one word of the other; `None` where it takes more than one, or none.
///
/// Marks of one year look much alike, so that mere likeness would always find one.
pub(in crate::yard) fn slip_between(one: &[u8], other: &[u8]) -> Option<Slip> {
    let same_before = one.iter().zip(other).take_while(|(left, right)| left == right).count();
    let (one, other) = (&one[same_before..], &other[same_before..]);
    let same_behind =
        one.iter().rev().zip(other.iter().rev()).take_while(|(left, right)| left == right).count();
    match (&one[..one.len() - same_behind], &other[..other.len() - same_behind]) {
        ([left], [right]) if look_alike(*left, *right) => Some(Slip::Usual),
        ([_], [_]) | ([], [_]) | ([_], []) => Some(Slip::Other),
        ([first, second], [swapped_first, swapped_second])
            if first == swapped_second && second == swapped_first =>
        {
            Some(Slip::Usual)
        }
        _ => None,
    }
}

fn look_alike(one: u8, other: u8) -> bool {
    LOOK_ALIKE.contains(&(one, other)) || LOOK_ALIKE.contains(&(other, one))
}
