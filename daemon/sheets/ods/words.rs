//! The text of a cell, as its paragraphs give it.

use crate::sheets::value::text_cell;
use crate::sheets::{Cell, Fault};

/// The white space that is one blank however much there is of it (OpenDocument 1.2, part 1, section 6.1.2).
const WHITE_SPACE: [char; 4] = [' ', '\t', '\r', '\n'];

/// Gathers the text of one cell after the other.
pub(super) struct Words {
    text: String,
    bytes_max: usize,
    /// How many characters found no room.
    left_out: usize,
    paragraphs: usize,
    /// Whether the paragraph under way has any text, and whether a blank follows it unless the paragraph ends.
    begun: bool,
    blank: bool,
}

impl Words {
    /// Keeps what can be of a text of so many characters; of a longer one only its length counts.
    pub(super) fn new(characters_max: usize) -> Words {
        /// A character takes at most so many bytes.
        const CHARACTER_BYTES: usize = 4;
        Words {
            text: String::new(),
            bytes_max: characters_max.saturating_mul(CHARACTER_BYTES),
            left_out: 0,
            paragraphs: 0,
            begun: false,
            blank: false,
        }
    }

    /// A new cell.
    pub(super) fn clear(&mut self) {
        self.text.clear();
        self.left_out = 0;
        self.paragraphs = 0;
    }

    /// A paragraph begins; each but the first is a line of its own.
    pub(super) fn paragraph(&mut self) {
        if self.paragraphs > 0 {
            self.put("\n");
        }
        self.paragraphs += 1;
        self.begun = false;
        self.blank = false;
    }

    /// Characters of the paragraph.
    pub(super) fn characters(&mut self, characters: &str) {
        let mut rest = characters;
        while let Some(at) = rest.find(WHITE_SPACE) {
            self.word(&rest[..at]);
            self.blank = self.begun;
            rest = rest[at..].trim_start_matches(WHITE_SPACE);
        }
        self.word(rest);
    }

    /// So many blanks that stand as they are. Where there is no room for all, none is kept: the text is too long either way.
    pub(super) fn blanks(&mut self, count: usize) {
        self.break_off("");
        if self.left_out == 0 && count <= self.bytes_max.saturating_sub(self.text.len()) {
            self.text.push_str(&" ".repeat(count));
        } else {
            self.left_out = self.left_out.saturating_add(count);
        }
    }

    /// A tab or a line break that stands as it is.
    pub(super) fn break_off(&mut self, mark: &str) {
        if std::mem::take(&mut self.blank) {
            self.put(" ");
        }
        self.begun = true;
        self.put(mark);
    }

    fn word(&mut self, word: &str) {
        if !word.is_empty() {
            self.break_off(word);
        }
    }

    fn put(&mut self, text: &str) {
        if self.left_out == 0 && text.len() <= self.bytes_max.saturating_sub(self.text.len()) {
            self.text.push_str(text);
        } else {
            self.left_out = self.left_out.saturating_add(text.chars().count());
        }
    }

    /// The text as it is so far, which may be too long to be all of it.
    pub(super) fn text(&self) -> &str {
        self.text.trim()
    }

    /// The cell of the text; blank where there is none. `words` gives room to one that is not as it stands here.
    pub(super) fn cell<'a>(&'a self, words: &'a mut String) -> Cell<'a> {
        if self.left_out > 0 {
            let characters = self.text.chars().count().saturating_add(self.left_out);
            Cell::Fault(Fault::TooLong(characters))
        } else {
            text_cell(&self.text, words)
        }
    }
}
