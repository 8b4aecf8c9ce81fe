//! Text that shows as what it is: nothing in it steers a terminal, breaks a line or turns letters round.

/// Whether a character is not seen and changes how others are shown: control characters, and those that
/// order the direction of writing (Unicode Standard Annex #9, "explicit directional" formatting).
#[must_use]
pub fn is_hidden(c: char) -> bool {
    c.is_control()
        || matches!(c, '\u{061c}' | '\u{200e}' | '\u{200f}' | '\u{2028}' | '\u{2029}' | '\u{202a}'..='\u{202e}' | '\u{2066}'..='\u{2069}')
}

/// A text of one line that somebody gave.
///
/// # Errors
/// A sentence where it holds a line break or a hidden character.
pub fn one_line(what: &str, text: &str) -> Result<(), String> {
    match text.chars().find(|c| is_hidden(*c)) {
        None => Ok(()),
        Some('\n' | '\r') => Err(format!("{what} holds a line break; write it on one line")),
        Some(hidden) => Err(format!(
            "{what} holds a character that is not seen (U+{:04X}); write it without",
            u32::from(hidden)
        )),
    }
}

/// A text of several lines that somebody gave; line breaks and tabs may stand in it.
///
/// # Errors
/// A sentence where it holds another hidden character.
pub fn lines(what: &str, text: &str) -> Result<(), String> {
    let inner: String = text
        .chars()
        .filter(|c| !matches!(c, '\n' | '\r' | '\t'))
        .collect();
    one_line(what, &inner)
}

/// A text of one line that stands in a log, whoever wrote it: hidden characters are shown as �.
#[must_use]
pub fn shown(text: &str) -> String {
    text.chars()
        .map(|c| {
            if is_hidden(c) {
                char::REPLACEMENT_CHARACTER
            } else {
                c
            }
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn names_are_of_one_line_and_seen_whole() {
        for plain in ["A. Bidder", "Zoë Müller-Lüdenscheidt", "鷺", "עוף"] {
            assert_eq!(one_line("the name", plain), Ok(()));
            assert_eq!(shown(plain), plain);
        }
        let broken = one_line("the name", "Evil\nSigned by: Q").unwrap_err();
        assert!(broken.contains("line break"), "{broken}");
        let turned = one_line("the title", "heron\u{202e}gpj").unwrap_err();
        assert!(turned.contains("U+202E"), "{turned}");
        assert_eq!(shown("a\nb\u{202e}c"), "a\u{fffd}b\u{fffd}c");
    }

    #[test]
    fn texts_may_have_several_lines() {
        assert_eq!(lines("the text", "one\r\n\ttwo"), Ok(()));
        assert!(lines("the text", "one\u{1b}[2J").is_err());
    }
}
