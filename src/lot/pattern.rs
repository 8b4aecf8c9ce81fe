//! Sheet names inside file names.

use super::spelling::composed;

/// A pattern such as `{sheet}_*`: `{sheet}` stands for the sheet's name (as long as can be), `*`
/// for any letters or none, `?` for one letter, `#` for one or more digits; the rest for itself.
/// It is matched against the file's name without its ending.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Pattern {
    parts: Vec<Part>,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Part {
    Letter(char),
    One,
    Any,
    Digits,
    Sheet,
}

const SHEET: &str = "{sheet}";

impl Pattern {
    /// Reads a pattern.
    ///
    /// # Errors
    /// A sentence when `{sheet}` does not stand in it exactly once.
    pub fn parse(text: &str) -> Result<Self, String> {
        if text.matches(SHEET).count() != 1 {
            return Err(format!(
                "must hold {SHEET} exactly once, as in \"{SHEET}_*\" for plate-7_a.jpg and plate-7_b.jpg"
            ));
        }
        // As the names of files are when it is held against them.
        let text = composed(text);
        let (before, after) = text.split_once(SHEET).unwrap_or((&text, ""));
        let mut parts: Vec<Part> = before.chars().map(part).collect();
        parts.push(Part::Sheet);
        parts.extend(after.chars().map(part));
        Ok(Self { parts })
    }

    /// The sheet's name in a file's name without its ending; none where the pattern does not fit.
    #[must_use]
    pub fn sheet<'a>(&self, stem: &'a str) -> Option<&'a str> {
        let at = self.parts.iter().position(|p| *p == Part::Sheet)?;
        let (before, after) = (&self.parts[..at], &self.parts[at + 1..]);
        let edges: Vec<usize> = stem
            .char_indices()
            .map(|(i, _)| i)
            .chain([stem.len()])
            .collect();
        for &end in edges.iter().rev() {
            for &start in edges.iter().take_while(|s| **s < end) {
                if fits(before, &stem[..start]) && fits(after, &stem[end..]) {
                    return Some(&stem[start..end]);
                }
            }
        }
        None
    }
}

fn part(letter: char) -> Part {
    match letter {
        '*' => Part::Any,
        '?' => Part::One,
        '#' => Part::Digits,
        other => Part::Letter(other),
    }
}

/// Whether the parts match all of a text; small and large letters count alike.
///
/// Letters are walked once with the set of places in the pattern that are reached, so no pattern
/// takes longer than its length times the text's.
fn fits(parts: &[Part], text: &str) -> bool {
    let mut reached = vec![false; parts.len() + 1];
    reached[0] = true;
    skip_empty(parts, &mut reached);
    for letter in text.chars() {
        let mut next = vec![false; parts.len() + 1];
        for (i, part) in parts.iter().enumerate().filter(|(i, _)| reached[*i]) {
            match part {
                Part::Letter(own) => next[i + 1] |= own.to_lowercase().eq(letter.to_lowercase()),
                Part::One | Part::Sheet => next[i + 1] = true,
                Part::Any => next[i] = true,
                Part::Digits if letter.is_ascii_digit() => {
                    next[i] = true;
                    next[i + 1] = true;
                }
                Part::Digits => {}
            }
        }
        skip_empty(parts, &mut next);
        reached = next;
    }
    reached[parts.len()]
}

fn skip_empty(parts: &[Part], reached: &mut [bool]) {
    for (i, part) in parts.iter().enumerate() {
        if reached[i] && *part == Part::Any {
            reached[i + 1] = true;
        }
    }
}

/// The sheet's name by the usual ways of numbering photographs, where no pattern is given: a copy's
/// "(2)", or one letter behind a number or a mark of separation, is left off (`plate-7b`,
/// `plate-7_b`, `plate-7 (2)`). Other numbers are never left off: `plate-7` and `plate-8` are two sheets. So are
/// `plate (1)` and `plate (2)` where no `plate` lies beside them, as `is_there` tells: many files renamed at once
/// are numbered so as well.
#[must_use]
pub fn usual_sheet(stem: &str, is_there: impl Fn(&str) -> bool) -> &str {
    let stem = without_copy_number(stem, is_there);
    let mut letters = stem.char_indices().rev();
    let (Some((last_at, last)), Some((before_at, before))) = (letters.next(), letters.next())
    else {
        return stem;
    };
    if !last.is_ascii_alphabetic() {
        return stem;
    }
    let rest = if before.is_ascii_digit() {
        &stem[..last_at]
    } else if matches!(before, '-' | '_' | ' ' | '.') {
        &stem[..before_at]
    } else {
        return stem;
    };
    if rest.is_empty() { stem } else { rest }
}

fn without_copy_number(stem: &str, is_there: impl Fn(&str) -> bool) -> &str {
    let Some((rest, number)) = stem.strip_suffix(')').and_then(|s| s.rsplit_once('(')) else {
        return stem;
    };
    let counts = !number.is_empty() && number.chars().all(|c| c.is_ascii_digit());
    let rest = rest.trim_end();
    if counts && !rest.is_empty() && is_there(rest) {
        rest
    } else {
        stem
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn patterns_find_the_sheet() {
        for (pattern, stem, sheet) in [
            ("{sheet}_*", "plate-7_a", Some("plate-7")),
            ("{sheet}_*", "plate_7_a", Some("plate_7")),
            ("{sheet}_*", "plate-7", None),
            ("IMG_#_{sheet}", "img_0012_Box 3", Some("Box 3")),
            ("{sheet}-??", "lot-3-01", Some("lot-3")),
            ("{sheet}", "плита", Some("плита")),
            ("*x{sheet}", "", None),
        ] {
            assert_eq!(
                Pattern::parse(pattern).unwrap().sheet(stem),
                sheet,
                "{pattern} {stem}"
            );
        }
        assert!(Pattern::parse("plate").is_err());
        assert!(Pattern::parse("{sheet}{sheet}").is_err());
    }

    #[test]
    fn no_pattern_takes_long() {
        let pattern = Pattern::parse("*a*a*a*a*a*a*a*a*a*b{sheet}").unwrap();
        assert_eq!(pattern.sheet(&"a".repeat(120)), None);
    }

    #[test]
    fn usual_names_lose_their_letter_and_keep_their_number() {
        for (stem, sheet) in [
            ("plate-7b", "plate-7"),
            ("plate-7_b", "plate-7"),
            ("plate 7 (2)", "plate 7"),
            ("plate-7", "plate-7"),
            ("1923.12.4", "1923.12.4"),
            ("IMG_0012", "IMG_0012"),
            ("rose", "rose"),
            ("a", "a"),
            ("_a", "_a"),
            ("(2)", "(2)"),
            ("é", "é"),
        ] {
            assert_eq!(usual_sheet(stem, |_| true), sheet);
        }
        assert_eq!(usual_sheet("plate (2)", |_| false), "plate (2)");
    }
}
