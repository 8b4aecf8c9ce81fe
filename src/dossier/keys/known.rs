//! Lists of the keys that a reader knows, in the form of OpenSSH's `allowed_signers`
//! (ssh-keygen(1), ALLOWED SIGNERS): principals, options, kind of key, key.
//!
//! - [`line`](mod@line): a line taken apart. [`patterns`]: lists of patterns.

mod line;
mod patterns;
#[cfg(test)]
mod tests;

use super::{NAMESPACE, fingerprint};
use jiff::Timestamp;
use jiff::tz::TimeZone;
use line::Listed;
use patterns::Match;

/// The keys that a reader knows.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct KnownSigners {
    lines: Vec<Listed>,
    passed_over: Vec<PassedOver>,
}

/// A line of a list that vouches for nothing.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct PassedOver {
    /// Its number, from 1.
    pub line: usize,
    /// Why, as a sentence without its full stop.
    pub why: String,
}

/// What a signed entry says of its making.
#[derive(Clone, Copy, Debug)]
pub struct Made<'a> {
    /// How its author calls themselves.
    pub by: &'a str,
    /// When, by the author's own clock; none where that cannot be read.
    pub at: Option<Timestamp>,
    /// The latest time of entries before it that known signers gave. It was made after that: it holds
    /// their hash.
    pub after: Option<Timestamp>,
}

/// What a list says of a key that signed an entry.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Standing<'a> {
    /// It is known, by these principals.
    Known(&'a str),
    /// It stands in the list, but not for this; why, line by line.
    Refused(String),
    /// It does not stand in the list.
    Unlisted,
}

impl KnownSigners {
    /// Reads the text of a list. Times without a Z are those of the time zone, as in OpenSSH.
    #[must_use]
    pub fn parse(text: &str, zone: &TimeZone) -> Self {
        let mut known = Self::default();
        for (number, line) in (1..).zip(text.lines()) {
            let line = line.trim();
            if line.is_empty() || line.starts_with('#') {
                continue;
            }
            match Listed::read(number, line, zone) {
                Ok(listed) => {
                    if listed.is_authority {
                        known.pass_over(number, "its key is a certificate authority (cert-authority), and certificates are not checked here".into());
                    }
                    known.lines.push(listed);
                }
                Err(why) => known.pass_over(number, why),
            }
        }
        known
    }

    fn pass_over(&mut self, line: usize, why: String) {
        self.passed_over.push(PassedOver { line, why });
    }

    /// Lines that vouch for nothing, in order.
    #[must_use]
    pub fn passed_over(&self) -> &[PassedOver] {
        &self.passed_over
    }

    /// Whether no key is listed at all.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.lines.is_empty()
    }

    /// What the list says of a public key that signed an entry. One line that accepts it will do.
    #[must_use]
    pub fn standing(&self, public: &str, made: Made<'_>) -> Standing<'_> {
        let Some(fingerprint) = fingerprint(public) else {
            return Standing::Unlisted;
        };
        let of_key = self.lines.iter().filter(|l| l.fingerprint == fingerprint);
        let mut refused = Vec::new();
        for listed in of_key {
            match listed.refuses(made) {
                None => return Standing::Known(&listed.principals),
                Some(why) => refused.push(format!("line {} {why}", listed.number)),
            }
        }
        if refused.is_empty() {
            Standing::Unlisted
        } else {
            Standing::Refused(refused.join("; "))
        }
    }
}

impl Listed {
    /// Why the line does not accept its key for an entry; none where it does.
    fn refuses(&self, made: Made<'_>) -> Option<String> {
        if self.is_authority {
            return Some("marks it as a certificate authority (cert-authority), which vouches for certificates and not for what the key itself signs".into());
        }
        if let Some(namespaces) = &self.namespaces
            && patterns::of(NAMESPACE, namespaces) != Match::Yes
        {
            return Some(format!(
                "accepts it for other kinds of signatures (namespaces=\"{namespaces}\", and a dossier's is {NAMESPACE})"
            ));
        }
        // Principals are whose the key is, and authors may call themselves otherwise; but not by a
        // name that is shut out.
        if patterns::of(made.by, &self.principals) == Match::ShutOut {
            return Some(format!(
                "shuts out the name {} ({})",
                made.by, self.principals
            ));
        }
        self.out_of_time(made)
    }

    fn out_of_time(&self, made: Made<'_>) -> Option<String> {
        if self.valid_after.is_none() && self.valid_before.is_none() {
            return None;
        }
        let Some(at) = made.at else {
            return Some("limits it in time, and the time of the entry cannot be read".into());
        };
        let early = self.valid_after.filter(|from| at < *from);
        let late = self.valid_before.filter(|until| at > *until);
        // The author's clock may be set back; that of those whose entries it stands on is not theirs.
        let dated_back = |until: &Timestamp| made.after.is_some_and(|after| after > *until);
        let dated_back = self.valid_before.filter(dated_back);
        if let Some(from) = early {
            Some(format!("accepts it from {from} on"))
        } else if let Some(until) = late {
            Some(format!("accepts it up to {until}"))
        } else {
            dated_back.map(|until| {
                format!("accepts it up to {until}, and whatever time is given there, a known signer dated what stands before it later")
            })
        }
    }
}
