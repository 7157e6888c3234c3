//! The lines of a mail server's reply, by any bytes.

use tickover::post::reply_line;

/// What a server says, which is taken line by line: one that is a reply's is written again as it was, and no other is.
pub(super) fn reply(bytes: &[u8]) {
    for line in bytes.split(|byte| *byte == b'\n') {
        let line = String::from_utf8_lossy(line);
        let line = line.trim_end_matches('\r');
        let Some((code, is_last, text)) = reply_line(line) else {
            assert!(!is_plain_reply(line), "a plain reply is not taken for one: {line}");
            continue;
        };
        let parting = if is_last { " " } else { "-" };
        let again = format!("{code}{parting}{text}");
        let is_bare = is_last && text.is_empty() && line == code.to_string();
        assert!(is_bare || again == line, "the line is read otherwise than it stands: {line}");
        assert!((200..600).contains(&code), "no reply has the figures {code}");
    }
}

/// Three figures of which the first is 2 to 5, and a blank or a hyphen behind them (RFC 5321, 4.2).
fn is_plain_reply(line: &str) -> bool {
    let [first, second, third, parting, ..] = *line.as_bytes() else { return false };
    matches!(first, b'2'..=b'5')
        && second.is_ascii_digit()
        && third.is_ascii_digit()
        && matches!(parting, b' ' | b'-')
}
