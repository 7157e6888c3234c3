//! What a cell beside a job says of the paper that its row stands for: an invoice, a quote, a credit note, what is void.

use crate::settings::{is_among, words_of};
use crate::sheets::Cell;
use crate::yard::cell_words::plain;

/// How a row is none of work.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Paper {
    /// It was only planned, or called off.
    Planned,
    /// It takes back what an earlier row of the same says.
    Credit,
    /// It may be work that was only planned, or called off.
    Doubtful,
    /// It may take back what an earlier row of the same says.
    PerhapsCredit,
}

impl Paper {
    /// Whether nobody can tell of the row itself whether it was done.
    pub(super) fn is_in_doubt(self) -> bool {
        matches!(self, Paper::Doubtful | Paper::PerhapsCredit)
    }

    /// Whether it takes back an earlier row, or may.
    pub(super) fn takes_back(self) -> bool {
        matches!(self, Paper::Credit | Paper::PerhapsCredit)
    }

    /// The same where nobody can tell whether the cell speaks of the whole row.
    fn in_doubt(self) -> Paper {
        match self {
            Paper::Planned | Paper::Doubtful => Paper::Doubtful,
            Paper::Credit | Paper::PerhapsCredit => Paper::PerhapsCredit,
        }
    }
}

/// What a paper that is no work done calls itself where it stands alone in a cell, in words that have no other use. Common
/// practice, no source.
const NO_WORK: &str = "cancelled canceled deleted estimate proforma quotation quote void voided";
const NO_WORK_IN_WORDS: [&str; 4] = ["draft invoice", "invoice draft", "pro forma", "sales order"];

/// The same of one that takes back an earlier one.
const TAKEN_BACK: &str = "credited refunded reversed";
const TAKEN_BACK_IN_WORDS: [&str; 3] = ["credit memo", "credit note", "sales credit"];

/// What may stand beside such words and changes nothing: `Sales quote`, `Cancelled by cust`, `Draft invoice`.
const BESIDE_A_PAPER: &str = "by client cust customer inv invoice job owner rider sales service the us";

/// What else a column holds that says how customers came.
const HOW_THEY_CAME: [&str; 8] =
    ["collection", "drop in", "dropped off", "online", "phone", "recovery", "walk in", "walkin"];

/// The same in words that have another use: who pays by credit, a town of that name.
const PERHAPS_NO_WORK: &str = "draft";
const PERHAPS_TAKEN_BACK: &str = "credit refund reversal";

/// The same in words for a visit that was only agreed, beside papers; where the column tells no papers apart they may say how
/// a customer came.
const AGREED: &str = "appointment booked booking reminder";

/// Short words for such papers, which say so for sure of papers alone.
const SHORT_NO_WORK: &str = "est pf quo";
const SHORT_TAKEN_BACK: &str = "cn return rtn";

/// What shows that a column tells papers apart, beside the words above.
const PAPERS: &str = "invoice quote quotation estimate proforma";

/// Headers of a column that says which paper a row is or how it came out, and what may stand beside them.
const KINDS: &str = "doc document kind outcome state status transaction trans type";
const PAPER_KINDS: &str = "doc document kind transaction trans type";
const BESIDE_A_KIND: &str = "bill entry inv invoice job order paper record row sale sales";

/// Headers of how the customer pays, under which such words say so.
const MONEY: &str = "account acct cash method paid pay payment payments tender terms";

/// Headers of a paper's number.
const NUMBERS: &str = "bill card doc document inv invoice job no num number paper ref reference";

/// What may stand in a paper's number and takes it back.
const VOID_IN_A_NUMBER: &str = "cancelled canceled deleted void voided";
const CREDIT_IN_A_NUMBER: &str = "credit credited refund refunded reversed";

/// Headers of what the whole row comes to, and what may stand beside them.
const TOTALS: &str = "amount gross price total value";
const BESIDE_A_TOTAL: &str = "bill exc excl ex gbp grand inc incl inv invoice job sale sales vat";

/// What a column beside a job is for, as its header says.
#[derive(Debug, Clone, Copy, Default)]
pub(super) struct About {
    /// Whether it says which paper a row is, or how it came out; or its cells tell papers apart.
    is_of_papers: bool,
    /// Whether its short words are of papers.
    has_short_words: bool,
    /// Whether its cells tell papers apart.
    tells_papers: bool,
    /// Whether they tell how customers came.
    tells_how_they_came: bool,
    /// Whether it says how the customer pays.
    is_of_money: bool,
    /// Whether it holds the papers' numbers.
    is_of_numbers: bool,
    /// Whether it holds what the whole row comes to.
    pub(super) is_total: bool,
    /// Whether it holds remarks, in which such words are of the row and of other things.
    is_of_remarks: bool,
}

impl About {
    /// Of a column by its header and its cells.
    pub(super) fn of<'c>(header: &str, cells: impl Iterator<Item = Cell<'c>>) -> About {
        let words = words_of(header);
        let has = |list: &str| words.iter().any(|word| is_among(word, list));
        let is_all_of = |list: &str, beside: &str| {
            has(list) && words.iter().all(|word| is_among(word, list) || is_among(word, beside))
        };
        let is_of_money = has(MONEY);
        let said: Vec<String> = cells.filter_map(whole_word).collect();
        let tells_papers = !is_of_money && said.iter().any(|said| is_plainly_a_paper(said));
        About {
            is_of_papers: tells_papers || is_all_of(KINDS, BESIDE_A_KIND),
            has_short_words: tells_papers || is_all_of(PAPER_KINDS, BESIDE_A_KIND),
            tells_papers,
            tells_how_they_came: said.iter().any(|said| HOW_THEY_CAME.contains(&said.as_str())),
            is_of_money,
            is_of_numbers: !is_of_money && has(NUMBERS),
            is_total: header.trim() == "£" || is_all_of(TOTALS, BESIDE_A_TOTAL),
            is_of_remarks: false,
        }
    }

    /// Of a column of remarks.
    pub(super) fn remarks() -> About {
        About { is_of_remarks: true, ..About::default() }
    }

    /// What a cell says of its row, where that is all that stands in it.
    pub(super) fn paper(self, cell: Cell<'_>) -> Option<Paper> {
        let said = whole_word(cell)?;
        let of_a_number = || if self.is_of_numbers { in_a_number(&said) } else { None };
        // A remark is of anything that it names.
        let in_words = || if self.is_of_remarks { None } else { said_paper(&without_what_is_beside(&said)) };
        let found =
            said_paper(&said).or_else(|| self.perhaps(&said)).or_else(in_words).or_else(of_a_number)?;
        let is_doubtful = self.is_of_remarks || (self.is_of_money && found == Paper::Credit);
        Some(if is_doubtful { found.in_doubt() } else { found })
    }

    /// The same of words that have another use.
    fn perhaps(self, said: &str) -> Option<Paper> {
        match said {
            _ if self.is_of_papers && is_among(said, PERHAPS_NO_WORK) => Some(Paper::Planned),
            _ if self.is_of_papers && is_among(said, PERHAPS_TAKEN_BACK) => Some(Paper::Credit),
            _ if self.has_short_words && is_among(said, SHORT_NO_WORK) => Some(Paper::Doubtful),
            _ if self.has_short_words && is_among(said, SHORT_TAKEN_BACK) => Some(Paper::PerhapsCredit),
            _ if is_among(said, AGREED) && !self.tells_how_they_came => match self.tells_papers {
                true => Some(Paper::Planned),
                false => self.has_short_words.then_some(Paper::Doubtful),
            },
            "draft" if self.is_of_remarks => Some(Paper::Doubtful),
            "refund" | "reversal" => Some(Paper::PerhapsCredit),
            _ if self.is_of_remarks => said.strip_suffix(" only").and_then(said_paper),
            _ => None,
        }
    }
}

/// What a cell of the column that says whether a job was done says of its paper.
pub(super) fn outcome(cell: Cell<'_>) -> Option<Paper> {
    About { is_of_papers: true, ..About::default() }.paper(cell)
}

/// A text in plain words; `None` where it is long enough for a remark.
fn whole_word(cell: Cell<'_>) -> Option<String> {
    const LONGEST: usize = 24;
    match cell {
        Cell::Text(text) if text.len() <= LONGEST => Some(plain(text)),
        _ => None,
    }
}

/// The paper that words with no other use name.
fn said_paper(said: &str) -> Option<Paper> {
    if is_among(said, TAKEN_BACK) || TAKEN_BACK_IN_WORDS.contains(&said) {
        return Some(Paper::Credit);
    }
    (is_among(said, NO_WORK) || NO_WORK_IN_WORDS.contains(&said)).then_some(Paper::Planned)
}

/// The words of a paper without those that change nothing beside them.
fn without_what_is_beside(said: &str) -> String {
    let words = said.split(' ').filter(|word| !is_among(word, BESIDE_A_PAPER));
    words.collect::<Vec<_>>().join(" ")
}

/// Whether words name a paper, and have no other use.
fn is_plainly_a_paper(said: &str) -> bool {
    let is_paper = |words: &str| NO_WORK_IN_WORDS.contains(&words) || TAKEN_BACK_IN_WORDS.contains(&words);
    let mut words = said.split(' ');
    let names_one = words.clone().any(|word| is_among(word, PAPERS));
    let is_named = names_one && words.all(|word| is_among(word, PAPERS) || is_among(word, BESIDE_A_PAPER));
    is_named || is_paper(said) || is_paper(&without_what_is_beside(said))
}

/// What a paper's number says of it: `INV1012 (void)`, `VOID1011`.
fn in_a_number(said: &str) -> Option<Paper> {
    /// Beside it stands at most what such numbers begin with: `INV`, `JC`.
    const LONGEST_SERIES: usize = 3;
    let words: Vec<&str> =
        said.split(|letter: char| !letter.is_alphabetic()).filter(|word| !word.is_empty()).collect();
    let told = |word: &&str| match word {
        _ if is_among(word, VOID_IN_A_NUMBER) => Some(Paper::Doubtful),
        _ if is_among(word, CREDIT_IN_A_NUMBER) => Some(Paper::PerhapsCredit),
        _ => None,
    };
    let is_series = |word: &&str| word.len() <= LONGEST_SERIES || *word == "invoice";
    let is_number = said.contains(|sign: char| sign.is_ascii_digit())
        && words.iter().all(|word| told(word).is_some() || is_series(word));
    words.iter().find_map(told).filter(|_| is_number)
}

/// Whether a sum is below nothing, in whatever way books write that: `-180.00`, `£-180`, `(180.00)`, `180.00-`, `180.00 CR`.
pub(super) fn is_negative(cell: Cell<'_>) -> bool {
    match cell {
        Cell::Number(sum) => sum < 0.0,
        Cell::Text(text) => {
            let sum = text.trim().to_ascii_lowercase();
            let credit = sum.strip_suffix("cr").or_else(|| sum.strip_suffix("cr."));
            let bare = credit.unwrap_or(&sum).trim_matches(['£', ' ']);
            let is_sum = bare.chars().all(|sign| sign.is_ascii_digit() || "-−(),.£ ".contains(sign));
            let is_below =
                credit.is_some() || bare.starts_with(['-', '−', '(']) || bare.ends_with(['-', '−']);
            is_sum && is_below && bare.chars().any(|sign| matches!(sign, '1'..='9'))
        }
        _ => false,
    }
}
