//! Lists of patterns (ssh_config(5), PATTERNS): `*` stands for any letters, `?` for one, and `!` before a
//! pattern shuts out what it matches, whatever else does.

/// What a list says of a text.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Match {
    /// It matches.
    Yes,
    /// It does not.
    No,
    /// It matches a pattern that shuts it out.
    ShutOut,
}

/// A text against a list.
pub fn of(text: &str, list: &str) -> Match {
    let mut found = Match::No;
    for pattern in list.split(',') {
        match pattern.strip_prefix('!') {
            Some(pattern) if is_like(text, pattern) => return Match::ShutOut,
            None if is_like(text, pattern) => found = Match::Yes,
            _ => {}
        }
    }
    found
}

/// Whether a list lets nothing in.
pub fn shuts_out_all(list: &str) -> bool {
    list.split(',').all(|pattern| pattern.starts_with('!'))
}

fn is_like(text: &str, pattern: &str) -> bool {
    let (text, pattern): (Vec<char>, Vec<char>) =
        (text.chars().collect(), pattern.chars().collect());
    let (mut t, mut p) = (0, 0);
    // Where the last star stands, and how much of the text it was tried with: where more is needed, it
    // takes one letter more. Lists come from anyone, and this takes no longer than text times pattern.
    let mut star: Option<(usize, usize)> = None;
    while t < text.len() {
        match pattern.get(p) {
            Some('*') => {
                star = Some((p, t));
                p += 1;
            }
            Some(c) if *c == '?' || *c == text[t] => {
                t += 1;
                p += 1;
            }
            _ => {
                let Some((at, taken)) = star else {
                    return false;
                };
                star = Some((at, taken + 1));
                t = taken + 1;
                p = at + 1;
            }
        }
    }
    pattern[p..].iter().all(|c| *c == '*')
}
