//! What tells one machine from another: its registration mark, its frame number, the shop's stock number.

use std::fmt;
use std::sync::Arc;

use crate::origin::{Entry, Origin};

/// A registration mark, upper-cased and without blanks or hyphens. It can move to another machine.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Mark(String);

/// A frame number (VIN), upper-cased and without blanks or hyphens: the identity wherever it is known.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct FrameNumber(String);

/// The shop's own stock number, upper-cased and trimmed; inner blanks and leading zeros are kept.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct StockNumber(String);

/// The longest text that may be an identifier; longer is a note in the wrong column.
const LONGEST: usize = 40;

/// Upper case, without blanks (the no-break one too) and hyphens; `None` when nothing or too much is left.
fn squeezed(text: &str) -> Option<String> {
    let kept: String = text
        .chars()
        .filter(|letter| !letter.is_whitespace() && *letter != '-')
        .collect::<String>()
        .to_uppercase();
    (!kept.is_empty() && kept.len() <= LONGEST && kept.chars().any(char::is_alphanumeric)).then_some(kept)
}

impl Mark {
    /// A mark as somebody wrote it; `None` when the text cannot be one at all.
    pub fn new(text: &str) -> Option<Mark> {
        squeezed(text).map(Mark)
    }

    /// The mark without blanks.
    pub fn as_str(&self) -> &str {
        &self.0
    }
}

impl fmt::Display for Mark {
    /// With the blank of today's style where it has that shape: `AB12 CDE`.
    fn fmt(&self, formatter: &mut fmt::Formatter<'_>) -> fmt::Result {
        let bytes = self.0.as_bytes();
        let current = bytes.len() == 7
            && bytes.iter().enumerate().all(|(place, letter)| match place {
                2 | 3 => letter.is_ascii_digit(),
                _ => letter.is_ascii_alphabetic(),
            });
        if current {
            write!(formatter, "{} {}", &self.0[..4], &self.0[4..])
        } else {
            formatter.write_str(&self.0)
        }
    }
}

impl FrameNumber {
    /// A frame number as somebody wrote it; `None` when the text cannot be one at all.
    pub fn new(text: &str) -> Option<FrameNumber> {
        squeezed(text).map(FrameNumber)
    }

    /// The frame number without blanks.
    pub fn as_str(&self) -> &str {
        &self.0
    }
}

impl fmt::Display for FrameNumber {
    fn fmt(&self, formatter: &mut fmt::Formatter<'_>) -> fmt::Result {
        formatter.write_str(&self.0)
    }
}

impl StockNumber {
    /// A stock number as somebody wrote it; `None` when there is none.
    pub fn new(text: &str) -> Option<StockNumber> {
        let text = text.trim().to_uppercase();
        (!text.is_empty() && text.len() <= LONGEST).then_some(StockNumber(text))
    }

    /// The stock number as written, upper-cased.
    pub fn as_str(&self) -> &str {
        &self.0
    }

    /// The same without leading zeros, which spreadsheet programs drop.
    pub fn without_zeros(&self) -> &str {
        match self.0.trim_start_matches('0') {
            "" => "0",
            rest => rest,
        }
    }
}

impl fmt::Display for StockNumber {
    fn fmt(&self, formatter: &mut fmt::Formatter<'_>) -> fmt::Result {
        formatter.write_str(&self.0)
    }
}

/// What a row or a machine is known by; at least one is there in a row that counts.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Identity {
    /// The registration mark.
    pub mark: Option<Entry<Mark>>,
    /// The frame number.
    pub frame_no: Option<Entry<FrameNumber>>,
    /// The shop's stock number.
    pub stock_no: Option<Entry<StockNumber>>,
}

impl Identity {
    /// Whether nothing tells which machine this is.
    pub fn is_unknown(&self) -> bool {
        self.mark.is_none() && self.frame_no.is_none() && self.stock_no.is_none()
    }

    /// What it says, without the cells: the mark, the frame number, the stock number.
    pub fn names(&self) -> [Option<&str>; 3] {
        [
            self.mark.as_ref().map(|mark| mark.value.as_str()),
            self.frame_no.as_ref().map(|frame_no| frame_no.value.as_str()),
            self.stock_no.as_ref().map(|stock_no| stock_no.value.as_str()),
        ]
    }

    /// Whether two rows have a name of their machine in common.
    pub fn shares_a_name(&self, other: &Identity) -> bool {
        self.names().into_iter().zip(other.names()).any(|(one, other)| one.is_some() && one == other)
    }

    /// The cell that names the machine first; `None` when none does.
    pub fn cell(&self) -> Option<&Origin> {
        let mark = self.mark.as_ref().map(|mark| &mark.origin);
        let frame_no = self.frame_no.as_ref().map(|frame_no| &frame_no.origin);
        let stock_no = self.stock_no.as_ref().map(|stock_no| &stock_no.origin);
        mark.or(frame_no).or(stock_no)
    }

    /// One name of the machine as people write it, its mark before others; `None` where nothing is known.
    pub fn written(&self) -> Option<String> {
        let mark = self.mark.as_ref().map(|mark| mark.value.to_string());
        let stock_no = || self.stock_no.as_ref().map(|stock_no| stock_no.value.to_string());
        mark.or_else(stock_no).or_else(|| self.frame_no.as_ref().map(|frame_no| frame_no.value.to_string()))
    }

    /// How a person names the machine in one word: its mark, else its stock number, else its frame number.
    pub fn shown(&self) -> String {
        if let Some(mark) = &self.mark {
            return mark.value.to_string();
        }
        if let Some(stock_no) = &self.stock_no {
            return format!("stock {}", stock_no.value);
        }
        self.frame_no.as_ref().map(|frame_no| format!("frame {}", frame_no.value)).unwrap_or_default()
    }
}

/// A machine's lasting name in the ledger: `frame …`, else `stock …`, else `mark …`. A clone costs one count: every
/// verdict has one.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct MachineId(Arc<str>);

impl MachineId {
    /// The lasting name that follows from what is known; `None` when nothing is.
    pub fn of(identity: &Identity) -> Option<MachineId> {
        if let Some(frame_no) = &identity.frame_no {
            return Some(MachineId(format!("frame {}", frame_no.value).into()));
        }
        if let Some(stock_no) = &identity.stock_no {
            return Some(MachineId(format!("stock {}", stock_no.value).into()));
        }
        identity.mark.as_ref().map(|mark| MachineId(format!("mark {}", mark.value.as_str()).into()))
    }

    /// Each name that a row gives its machine, in the form of a lasting name.
    pub fn each(identity: &Identity) -> impl Iterator<Item = MachineId> {
        let [mark, frame_no, stock_no] = identity.names();
        let names = [("mark", mark), ("frame", frame_no), ("stock", stock_no)];
        names.into_iter().filter_map(|(kind, name)| Some(MachineId(format!("{kind} {}", name?).into())))
    }

    /// The name itself, without the word that says of what kind it is.
    pub fn bare(&self) -> &str {
        self.0.split_once(' ').map_or(&self.0, |(_, name)| name)
    }

    /// Whether somebody who writes this means the machine by this name.
    pub fn is_called(&self, written: &str) -> bool {
        match self.0.split_once(' ') {
            Some(("mark", name)) => Mark::new(written).is_some_and(|mark| mark.as_str() == name),
            Some(("frame", name)) => FrameNumber::new(written).is_some_and(|number| number.as_str() == name),
            Some(("stock", name)) => StockNumber::new(written).is_some_and(|number| number.as_str() == name),
            _ => false,
        }
    }

    /// What stands for the whole yard where a finding is about no machine in particular.
    pub fn whole_yard() -> MachineId {
        MachineId("the whole yard".into())
    }

    /// Whether it stands for the whole yard.
    pub fn is_whole_yard(&self) -> bool {
        *self == MachineId::whole_yard()
    }

    /// A lasting name that the ledger kept.
    pub fn kept(text: &str) -> MachineId {
        MachineId(text.into())
    }

    /// The name as the ledger keeps it.
    pub fn as_str(&self) -> &str {
        &self.0
    }
}
