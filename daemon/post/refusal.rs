//! What of a mail a server refuses for good: one receiver, or the letter itself; and what to do about each.

/// What a server refuses for good. A sender that is refused is a fault of the account ([`super::FaultKind::Sender`]).
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Refusal {
    /// This receiver's address.
    Receiver,
    /// The letter, as larger than it takes.
    Size,
    /// The letter, for what stands in it or by the server's rules.
    Letter,
}

impl Refusal {
    /// What goes before the server's words where only words are kept. A server's own begin with a number, and ours with
    /// neither of these.
    fn mark(self) -> &'static str {
        match self {
            Refusal::Receiver => "",
            Refusal::Size => "the letter is too large, ",
            Refusal::Letter => "the letter itself is not wanted, ",
        }
    }

    /// The words by which it is kept what was refused.
    pub fn noted(self, words: &str) -> String {
        format!("{}{words}", self.mark())
    }

    /// What was refused, by the words that [`Refusal::noted`] gave.
    pub fn of_note(note: &str) -> Refusal {
        let is_marked = |refusal: &Refusal| note.starts_with(refusal.mark());
        [Refusal::Size, Refusal::Letter].into_iter().find(is_marked).unwrap_or(Refusal::Receiver)
    }

    /// What to do about it, whether a letter was refused or a trial.
    pub fn help(self) -> &'static str {
        match self {
            Refusal::Receiver => {
                "Correct the address under [letter] in tickover.toml, or ask whoever runs that mailbox."
            }
            Refusal::Size => {
                "No address is wrong. Ask the mail provider to take larger mails, or name receivers that get only some \
                 sections under [letter.in_part] in tickover.toml."
            }
            Refusal::Letter => {
                "No address is wrong. Ask the mail provider about these words: mostly a filter for unwanted mail, or a \
                 limit on how much the account may send."
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_was_refused_is_known_by_the_words_that_were_kept() {
        for (refusal, words) in [
            (Refusal::Receiver, "550 5.1.1 No such user"),
            (
                Refusal::Receiver,
                "cannot use `zoe` as a receiver's address: it has not the form of an address",
            ),
            (Refusal::Size, "552 5.3.4 too large"),
            (Refusal::Letter, "554 5.7.1 rejected as spam"),
        ] {
            let noted = refusal.noted(words);
            assert_eq!(Refusal::of_note(&noted), refusal, "{noted}");
            assert!(noted.ends_with(words), "{noted}");
        }
    }
}
