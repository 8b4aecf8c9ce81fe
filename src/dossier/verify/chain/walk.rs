//! The way back through a log, from what `head` says of the last line to the beginning.

use super::Head;
use crate::dossier::digest::{Damage, Digest};
use crate::dossier::entry::{Deed, Entry};
use crate::dossier::line::{Line, Log};
use crate::dossier::verify::{Finding, Kind};
use crate::report::words::capital;
use std::collections::BTreeSet;

/// The line a walk stands before: where to look, and what a later line said of it.
pub(super) struct Expected {
    /// Number it must have. Lines may be missing or moved, so it is never taken from the place of
    /// a line in the log.
    pub(super) n: u64,
    /// Its digest; none where what said so is lost.
    pub(super) digest: Option<Digest>,
    /// Who says so, for sentences.
    pub(super) by: String,
}

/// A line taken into the chain.
struct Visited {
    /// Number of its entry.
    n: u64,
    /// The entry as it was; none where that is lost.
    entry: Option<Entry>,
    /// Whether what the entry says can be relied on: not where several of its bytes changed.
    sure: bool,
}

/// A walk under way.
pub struct Walk<'a> {
    pub(super) log: &'a Log,
    pub(super) findings: &'a mut Vec<Finding>,
    /// Indices of lines whose bytes are known to have changed.
    pub damaged: BTreeSet<usize>,
    /// Lines in the order of the chain, last first.
    pub(super) order: Vec<usize>,
}

impl<'a> Walk<'a> {
    /// A walk that has not begun.
    pub fn new(log: &'a Log, findings: &'a mut Vec<Finding>) -> Self {
        Self {
            log,
            findings,
            damaged: BTreeSet::new(),
            order: Vec::new(),
        }
    }

    /// Walks from the last line to the first and reports what does not fit.
    pub fn backwards(&mut self, head: Option<&Head>) {
        let (mut index, mut expected) = self.start(head);
        loop {
            let Visited { n, entry, sure } = self.visit(index, expected);
            if let Some(first) = entry.as_ref().filter(|entry| entry.prev.is_none()) {
                self.begins(index, n, first);
                return;
            }
            if n <= 1 {
                self.begins_nothing(entry.as_ref());
                return;
            }
            let wanted = Expected {
                n: n - 1,
                digest: entry
                    .and_then(|entry| entry.prev)
                    .filter(|prev| sure || self.with_digest(prev).is_some()),
                by: format!("entry {n}"),
            };
            match self.before(wanted) {
                Some(found) => (index, expected) = found,
                None => return,
            }
        }
    }

    /// Whether a line feed lost or put in explains why a line is not what it should be.
    pub(super) fn line_feed_explains(&self, index: usize, digest: &Digest) -> bool {
        let line = &self.log.lines[index];
        lost_line_feed(line, digest).is_some() || self.put_in_line_feed(index, digest).is_some()
    }

    /// The bytes of a line and the one before, and the byte in them that became a line feed.
    fn put_in_line_feed(&self, index: usize, digest: &Digest) -> Option<(Vec<u8>, Damage)> {
        let before = &self.log.lines[index.checked_sub(1)?];
        let joined = [&before.bytes[..], &self.log.lines[index].bytes].concat();
        let damage = digest.damage(&joined)?;
        matches!(damage, Damage::OneByte { .. }).then_some((joined, damage))
    }

    /// Takes a line into the chain, reports how it changed, and gives its entry as it was.
    fn visit(&mut self, index: usize, expected: Expected) -> Visited {
        self.order.push(index);
        let line = &self.log.lines[index];
        let n = expected.n;
        match (&expected.digest, &line.entry) {
            (Some(digest), _) if !digest.fits(&line.bytes) => {
                self.damaged.insert(index);
                self.visit_changed(index, digest, &expected)
            }
            (said, Ok(entry)) => {
                if said.is_some() && entry.n != n {
                    let text = format!(
                        "What stands as entry {n} calls itself entry {}: this program numbers entries one by one, so they were numbered anew.",
                        entry.n
                    );
                    self.findings
                        .push(Finding::problem(Kind::OutOfChain, text).entry(n));
                }
                Visited {
                    n,
                    entry: Some(entry.clone()),
                    sure: true,
                }
            }
            (_, Err(why)) => {
                let text = format!(
                    "Line {} of the log, where entry {n} should stand, cannot be read: {why}.",
                    index + 1
                );
                self.findings
                    .push(Finding::problem(Kind::Unreadable, text).entry(n));
                self.damaged.insert(index);
                Visited {
                    n,
                    entry: None,
                    sure: false,
                }
            }
        }
    }

    fn visit_changed(&mut self, index: usize, digest: &Digest, expected: &Expected) -> Visited {
        let line = &self.log.lines[index];
        if let Some(visited) = self.line_feed_lost(line, digest, expected) {
            return visited;
        }
        let n = expected.n;
        if let Some(entry) = self.line_feed_put_in(index, digest, expected) {
            return Visited {
                n,
                entry,
                sure: true,
            };
        }
        let damage = digest.damage(&line.bytes);
        if let Some(damage) = &damage {
            self.report_change(damage, line.offset, expected);
        }
        match damage {
            Some(Damage::OneByte { offset, was, .. }) => Visited {
                n,
                entry: entry_with(&line.bytes, offset, was),
                sure: true,
            },
            _ => Visited {
                n,
                entry: line.entry.clone().ok(),
                sure: false,
            },
        }
    }

    /// A line feed that became another byte joins two entries into one line; the later of them is
    /// the one expected.
    fn line_feed_lost(
        &mut self,
        line: &Line,
        digest: &Digest,
        expected: &Expected,
    ) -> Option<Visited> {
        let place = lost_line_feed(line, digest)?;
        let n = expected.n.checked_sub(1).filter(|&n| n > 0)?;
        let damage = Damage::OneByte {
            offset: place as u64,
            is: line.bytes[place],
            was: b'\n',
        };
        let joined = Expected {
            n,
            digest: None,
            by: String::new(),
        };
        self.report_change(&damage, line.offset, &joined);
        Some(Visited {
            n,
            entry: serde_json::from_slice(&line.bytes[..place]).ok(),
            sure: true,
        })
    }

    /// A byte that became a line feed breaks an entry into two lines.
    fn line_feed_put_in(
        &mut self,
        index: usize,
        digest: &Digest,
        expected: &Expected,
    ) -> Option<Option<Entry>> {
        let (joined, damage) = self.put_in_line_feed(index, digest)?;
        let from = self.log.lines[index - 1].offset;
        self.order.push(index - 1);
        self.damaged.insert(index - 1);
        self.report_change(&damage, from, expected);
        let Damage::OneByte { offset, was, .. } = damage else {
            return None;
        };
        Some(entry_with(&joined, offset, was))
    }

    pub(super) fn report_change(&mut self, damage: &Damage, from: u64, expected: &Expected) {
        let (n, by) = (expected.n, &expected.by);
        let how = damage.in_words(from);
        let text = match damage {
            Damage::OneByte { .. } => format!("Entry {n} was changed: in the log, {how}."),
            _ => format!(
                "What stands as entry {n} is not what {by} was written after: {how}. Entry {n} was changed or replaced, or {by} was."
            ),
        };
        self.findings
            .push(Finding::problem(Kind::Changed, text).entry(n));
    }

    /// The line before and what is expected of it; none where the chain breaks off.
    fn before(&mut self, expected: Expected) -> Option<(usize, Expected)> {
        let here = self.order.last().copied().unwrap_or(0);
        if let Some(found) = self.standing_for(&expected, here) {
            return Some((found, expected));
        }
        // A gap; what stands before it is believed as it stands.
        let Some((found, n)) = self.latest_before(expected.n, here) else {
            self.report_missing(1, &expected);
            return None;
        };
        self.report_missing(n + 1, &expected);
        let believed = Expected {
            n,
            digest: None,
            by: format!("entry {}", n + 1),
        };
        Some((found, believed))
    }

    /// The line that is the one expected, or was: by its digest, by a single byte that explains
    /// why it has another, by its number, or because it stands in its place and cannot be read.
    fn standing_for(&self, expected: &Expected, here: usize) -> Option<usize> {
        let lines = &self.log.lines;
        let free: Vec<usize> = self.free_near(here);
        let first = |fits: &dyn Fn(usize) -> bool| free.iter().copied().find(|&i| fits(i));
        let by_digest = expected.digest.as_ref().and_then(|digest| {
            // Of a line and its copy the first in the log is the one, wherever the walk stands.
            let mut all = (0..lines.len()).filter(|i| free.contains(i));
            let exact = all.find(|&i| lines[i].digest == *digest);
            exact.or_else(|| first(&|i| self.explained(i, digest)))
        });
        by_digest
            .or_else(|| first(&|i| lines[i].entry.as_ref().is_ok_and(|e| e.n == expected.n)))
            .or_else(|| {
                let nearest = here.checked_sub(1)?;
                (lines[nearest].entry.is_err() && free.contains(&nearest)).then_some(nearest)
            })
    }

    /// The line with the greatest number below another's, and that number.
    fn latest_before(&self, n: u64, here: usize) -> Option<(usize, u64)> {
        let number = |i: &usize| {
            let entry = self.log.lines[*i].entry.as_ref().ok()?;
            (entry.n < n).then_some((*i, entry.n))
        };
        // Of several with one number the nearest is taken: it comes first, and the last of equals
        // would win otherwise.
        let free = self.free_near(here);
        free.iter().rev().filter_map(number).max_by_key(|f| f.1)
    }

    /// Lines not yet in the chain: first those before a line, from it away, then those behind it.
    fn free_near(&self, here: usize) -> Vec<usize> {
        let all = (0..here).rev().chain(here..self.log.lines.len());
        all.filter(|index| !self.order.contains(index)).collect()
    }

    /// Whether a line is the one that a digest was taken of but for a single byte.
    pub(super) fn explained(&self, index: usize, digest: &Digest) -> bool {
        let line = &self.log.lines[index];
        matches!(digest.damage(&line.bytes), Some(Damage::OneByte { .. }))
            || self.line_feed_explains(index, digest)
    }

    fn report_missing(&mut self, from: u64, expected: &Expected) {
        let to = expected.n;
        if from > to {
            return;
        }
        let (verb, them) = if from == to {
            ("is", "it")
        } else {
            ("are", "them")
        };
        let text = format!(
            "{} {verb} missing from the log: {} was written after {them}.",
            capital(&span(from, to)),
            expected.by
        );
        self.findings
            .push(Finding::problem(Kind::Missing, text).entry(from));
    }

    fn begins(&mut self, index: usize, n: u64, entry: &Entry) {
        if n != 1 {
            let text = format!(
                "Entry {n} names no entry before it, as only the first may: the beginning of the log was replaced."
            );
            self.findings
                .push(Finding::problem(Kind::Missing, text).entry(n));
        } else if !matches!(entry.deed, Deed::Begin(_)) && !self.damaged.contains(&index) {
            let text = "Entry 1 does not begin a dossier: the beginning of the log was replaced.";
            self.findings
                .push(Finding::problem(Kind::Missing, text).entry(1));
        }
    }

    /// A first entry that names one before it. Where it is lost itself, that is said already.
    fn begins_nothing(&mut self, entry: Option<&Entry>) {
        if entry.is_some() {
            let text = "Entry 1 names an entry before it, as the first cannot: what it followed on was taken away.";
            self.findings
                .push(Finding::problem(Kind::Missing, text).entry(1));
        }
    }

    pub(super) fn with_digest(&self, digest: &Digest) -> Option<usize> {
        self.log
            .lines
            .iter()
            .position(|line| line.digest == *digest)
    }
}

/// The entry of a line with one byte put back.
fn entry_with(bytes: &[u8], offset: u64, was: u8) -> Option<Entry> {
    let mut bytes = bytes.to_vec();
    *bytes.get_mut(usize::try_from(offset).ok()?)? = was;
    serde_json::from_slice(&bytes).ok()
}

/// Where a line's feed became another byte, if what stands behind it is the line expected, and what
/// stands before it another entry.
fn lost_line_feed(line: &Line, digest: &Digest) -> Option<usize> {
    let later = usize::try_from(digest.bytes).ok()?;
    let place = line.bytes.len().checked_sub(later.checked_add(1)?)?;
    let (before, after) = (&line.bytes[..place], &line.bytes[place + 1..]);
    let fits = digest.fits(after) && serde_json::from_slice::<Entry>(before).is_ok();
    fits.then_some(place)
}

pub(super) fn span(from: u64, to: u64) -> String {
    if from == to {
        format!("entry {from}")
    } else {
        format!("entries {from} to {to}")
    }
}
