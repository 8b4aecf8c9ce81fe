//! A line of a list, taken apart as `ssh-keygen` does. What it would not take is not taken here.

use super::super::fingerprint;
use super::patterns;
use jiff::Timestamp;
use jiff::civil::DateTime;
use jiff::tz::TimeZone;

/// The kind of the keys that sign dossiers.
const KIND: &str = "ssh-ed25519";
/// How the kinds of keys that OpenSSH knows begin (sshd(8), AUTHORIZED_KEYS FILE FORMAT).
const KINDS: [&str; 3] = ["ssh-", "ecdsa-", "sk-"];
const NO_KEY: &str = "it holds no name and key; a line reads: name ssh-ed25519 AAAA…";
const BLANKS: [char; 2] = [' ', '\t'];

/// A key with what its line says of it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Listed {
    /// Number of the line.
    pub number: usize,
    /// Fingerprint of the key.
    pub fingerprint: String,
    /// Whose it is.
    pub principals: String,
    /// Whether it vouches for certificates alone.
    pub is_authority: bool,
    /// The kinds of signatures that it is accepted for; none for all.
    pub namespaces: Option<String>,
    /// From when on it is accepted.
    pub valid_after: Option<Timestamp>,
    /// Up to when.
    pub valid_before: Option<Timestamp>,
}

impl Listed {
    /// Reads a line; else says why it cannot be.
    pub fn read(number: usize, line: &str, zone: &TimeZone) -> Result<Self, String> {
        let (principals, rest) = principals(line)?;
        if patterns::shuts_out_all(principals) {
            return Err("it shuts names out (!) and lets none in".into());
        }
        let is_key = |rest: &str| KINDS.iter().any(|kind| rest.starts_with(kind));
        let (options, key) = if is_key(rest) {
            ("", rest)
        } else {
            split_options(rest)?
        };
        let mut listed = Self {
            number,
            fingerprint: String::new(),
            principals: principals.to_owned(),
            is_authority: false,
            namespaces: None,
            valid_after: None,
            valid_before: None,
        };
        listed.take_options(options, zone)?;
        listed.fingerprint = fingerprint_of(key)?;
        Ok(listed)
    }

    fn take_options(&mut self, options: &str, zone: &TimeZone) -> Result<(), String> {
        let mut rest = options;
        while !rest.is_empty() {
            let end = rest.find(['=', ',']).unwrap_or(rest.len());
            let (name, after) = rest.split_at(end);
            let option = name.to_ascii_lowercase();
            rest = match (option.as_str(), after.strip_prefix('=')) {
                ("cert-authority", None) => {
                    self.is_authority = true;
                    after
                }
                ("namespaces", Some(after)) => {
                    let (value, after) = quoted(&option, after)?;
                    once(&option, &mut self.namespaces, value)?;
                    after
                }
                ("valid-after", Some(after)) => {
                    let (value, after) = quoted(&option, after)?;
                    once(&option, &mut self.valid_after, moment(&value, zone)?)?;
                    after
                }
                ("valid-before", Some(after)) => {
                    let (value, after) = quoted(&option, after)?;
                    once(&option, &mut self.valid_before, moment(&value, zone)?)?;
                    after
                }
                _ => {
                    return Err(format!(
                        "\"{name}\" is no option that can be read (they are cert-authority, namespaces=\"…\", valid-after=\"…\" and valid-before=\"…\"); a name with blanks in it stands in quotation marks"
                    ));
                }
            };
            if let Some(after) = rest.strip_prefix(',') {
                rest = after;
                if rest.is_empty() {
                    return Err("its options end in a comma".into());
                }
            } else if !rest.is_empty() {
                return Err(format!("what follows {option} is no comma"));
            }
        }
        match (self.valid_after, self.valid_before) {
            (Some(from), Some(until)) if until <= from => {
                Err("its valid-before is not later than its valid-after".into())
            }
            _ => Ok(()),
        }
    }
}

/// The names that a line begins with, and what follows.
fn principals(line: &str) -> Result<(&str, &str), String> {
    let (names, rest) = match line.strip_prefix('"') {
        Some(quoted) => quoted
            .split_once('"')
            .ok_or("its first quotation mark is not closed")?,
        None => line.split_once(BLANKS).ok_or(NO_KEY)?,
    };
    if names.contains('"') {
        return Err("its first word holds a quotation mark and is no name".into());
    }
    let rest = rest.trim_start_matches(BLANKS);
    if rest.is_empty() {
        return Err(NO_KEY.into());
    }
    Ok((names, rest))
}

/// The options and the key behind them: blanks in quotation marks end nothing.
fn split_options(text: &str) -> Result<(&str, &str), String> {
    let (mut is_quoted, mut escaped) = (false, false);
    for (at, c) in text.char_indices() {
        match c {
            '"' if !escaped => is_quoted = !is_quoted,
            ' ' | '\t' if !is_quoted => {
                return Ok((&text[..at], text[at..].trim_start_matches(BLANKS)));
            }
            _ => {}
        }
        escaped = c == '\\' && !escaped;
    }
    Err(if is_quoted {
        "a quotation mark in its options is not closed".into()
    } else {
        NO_KEY.into()
    })
}

/// The value of an option, and what follows.
fn quoted<'a>(option: &str, text: &'a str) -> Result<(String, &'a str), String> {
    let inner = text
        .strip_prefix('"')
        .ok_or_else(|| format!("the value of {option} does not stand in quotation marks"))?;
    let mut value = String::new();
    let mut letters = inner.char_indices();
    while let Some((at, c)) = letters.next() {
        match c {
            '"' => return Ok((value, &inner[at + 1..])),
            '\\' if inner[at + 1..].starts_with('"') => {
                value.push('"');
                letters.next();
            }
            c => value.push(c),
        }
    }
    Err(format!("the quotation mark of {option} is not closed"))
}

fn once<T>(option: &str, place: &mut Option<T>, value: T) -> Result<(), String> {
    match place.replace(value) {
        None => Ok(()),
        Some(_) => Err(format!("it gives {option} twice")),
    }
}

/// A moment as YYYYMMDD, YYYYMMDDHHMM or YYYYMMDDHHMMSS, in UTC where a Z follows.
fn moment(text: &str, zone: &TimeZone) -> Result<Timestamp, String> {
    let wrong = || {
        format!(
            "\"{text}\" is no time; write it as 20261231, 202612312359 or 20261231235959, with a Z behind it for UTC"
        )
    };
    let digits = text.strip_suffix(['Z', 'z']);
    let zone = digits.map_or_else(|| zone.clone(), |_| TimeZone::UTC);
    let digits = digits.unwrap_or(text);
    let is_time = digits.bytes().all(|b| b.is_ascii_digit()) && matches!(digits.len(), 8 | 12 | 14);
    if !is_time {
        return Err(wrong());
    }
    let part = |from: usize, length: usize| {
        let part = digits.get(from..from + length).unwrap_or("0");
        part.parse::<i8>().map_err(|_| wrong())
    };
    let year = digits[..4].parse::<i16>().map_err(|_| wrong())?;
    let civil = DateTime::new(
        year,
        part(4, 2)?,
        part(6, 2)?,
        part(8, 2)?,
        part(10, 2)?,
        part(12, 2)?,
        0,
    );
    let moment = civil.and_then(|civil| zone.to_timestamp(civil));
    moment.map_err(|_| wrong())
}

/// Fingerprint of the key that ends a line.
fn fingerprint_of(key: &str) -> Result<String, String> {
    let parts: Vec<&str> = key.split(BLANKS).filter(|part| !part.is_empty()).collect();
    let kind = parts.first().copied().unwrap_or_default();
    if !KINDS.iter().any(|known| kind.starts_with(known)) {
        return Err(NO_KEY.into());
    }
    if kind != KIND {
        return Err(format!(
            "its key is of kind {kind}, and dossiers are signed with keys of kind {KIND}"
        ));
    }
    let letters = parts.get(1).copied().unwrap_or_default();
    fingerprint(&format!("{kind} {letters}")).ok_or_else(|| "its key cannot be read".into())
}
