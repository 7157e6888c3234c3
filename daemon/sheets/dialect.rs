//! Which character parts the cells of a text file: it was agreed, the first line says so, or the most table-like
//! reading does.

/// The characters that can part cells, the more usual first.
const DELIMITERS: [u8; 4] = [b',', b';', b'\t', b'|'];

/// How much of a file is tried under each delimiter, in bytes and in rows.
const SAMPLE_BYTES: usize = 64 * 1024;
const SAMPLE_ROWS: usize = 300;

/// How a text file is to be read.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Dialect {
    /// The byte that parts cells.
    pub(super) delimiter: u8,
    /// Where the table begins, in bytes: behind a line `sep=;`, which spreadsheet programs take as a word to
    /// themselves and do not show.
    pub(super) begins_at: usize,
}

/// How this text is to be read, of which a delimiter may have been agreed.
pub(super) fn of(text: &str, agreed: Option<u8>) -> Dialect {
    let said = said_by_first_line(text);
    if let Some(delimiter) = agreed {
        return Dialect { delimiter, begins_at: said.map_or(0, |said| said.begins_at) };
    }
    if let Some(said) = said {
        return said;
    }
    let sample = sample(text);
    // A text in which no delimiter makes a table is one column; a comma does no harm there.
    let mut best = (0.0, DELIMITERS[0]);
    for delimiter in DELIMITERS {
        let score = score(sample, delimiter);
        if score > best.0 {
            best = (score, delimiter);
        }
    }
    Dialect { delimiter: best.1, begins_at: 0 }
}

/// The delimiter of a first line `sep=;`, bare or in quotes.
fn said_by_first_line(text: &str) -> Option<Dialect> {
    let line = &text[..text.find(['\r', '\n']).unwrap_or(text.len())];
    let bare = line.trim_matches([' ', '"']);
    let said = bare.get(..4).filter(|word| word.eq_ignore_ascii_case("sep=")).map(|_| &bare[4..])?;
    let delimiter = match said.as_bytes() {
        // The line of a tab-delimited file ends in the tab itself.
        [] if line.ends_with('\t') => b'\t',
        [delimiter] if !delimiter.is_ascii_alphanumeric() && *delimiter != b'"' => *delimiter,
        _ => return None,
    };
    let rest = &text[line.len()..];
    let line_end = if rest.starts_with("\r\n") { 2 } else { usize::from(!rest.is_empty()) };
    Some(Dialect { delimiter, begins_at: line.len() + line_end })
}

/// The beginning of the text, up to a line's end.
fn sample(text: &str) -> &str {
    if text.len() <= SAMPLE_BYTES {
        return text;
    }
    let cut = text.floor_char_boundary(SAMPLE_BYTES);
    let line_end = text[..cut].rfind(['\r', '\n']).unwrap_or(cut);
    &text[..line_end]
}

/// How much the text looks like a table under a delimiter, from 0 (not at all) to 1: rows of one width, of more
/// than one column, and cells that look whole.
fn score(sample: &str, delimiter: u8) -> f64 {
    let mut reader = super::text::reader(sample, delimiter);
    let mut record = csv::StringRecord::new();
    let mut widths = std::collections::BTreeMap::<usize, usize>::new();
    let (mut rows, mut cells, mut whole) = (0_usize, 0_usize, 0_usize);
    while rows < SAMPLE_ROWS && reader.read_record(&mut record).unwrap_or(false) {
        rows += 1;
        *widths.entry(record.len()).or_default() += 1;
        cells += record.len();
        whole += record.iter().filter(|cell| looks_whole(cell)).count();
    }
    if rows == 0 {
        return 0.0;
    }
    // Many rows of one width beyond a single column speak for a delimiter; many different widths against it.
    let table: f64 =
        widths.iter().map(|(&width, &count)| count as f64 * (width as f64 - 1.0) / width as f64).sum();
    let evenness = widths.values().copied().max().unwrap_or(0) as f64 / rows as f64;
    let whole = whole as f64 / cells as f64;
    table / rows as f64 * evenness * whole * whole
}

/// Whether a cell looks like one cell: not like a stretch of a row that another delimiter would part.
fn looks_whole(cell: &str) -> bool {
    let cell = cell.trim();
    let bytes = cell.as_bytes();
    let foreign = |byte: &u8| matches!(byte, b';' | b'\t' | b'|');
    if bytes.iter().enumerate().any(|(at, byte)| foreign(byte) && !ends_entity(&bytes[..=at])) {
        return false;
    }
    // A comma inside one cell stands before a space (prose) or between digits (1,649 or 99,5).
    let commas_fit = bytes.iter().enumerate().filter(|(_, byte)| **byte == b',').all(|(at, _)| {
        let before = at.checked_sub(1).and_then(|at| bytes.get(at));
        let after = bytes.get(at + 1);
        after == Some(&b' ')
            || (before.is_some_and(u8::is_ascii_digit) && after.is_some_and(u8::is_ascii_digit))
    });
    let opens = cell.strip_prefix('=').unwrap_or(cell).starts_with('"');
    commas_fit && (!opens || cell.ends_with('"'))
}

/// Whether the last byte is the semicolon of a letter as web pages write it, such as `&nbsp;` or `&#163;`.
fn ends_entity(bytes: &[u8]) -> bool {
    let Some((b';', before)) = bytes.split_last() else { return false };
    let is_name = |byte: &&u8| byte.is_ascii_alphanumeric() || **byte == b'#';
    let name = before.iter().rev().take_while(is_name).count();
    name > 1 && name < before.len() && before[before.len() - name - 1] == b'&'
}
