//! The way back through a log, from what `head` says of the last line to the beginning.

use super::Head;
use crate::dossier::HEAD;
use crate::dossier::digest::{Damage, Digest};
use crate::dossier::entry::{Deed, Entry};
use crate::dossier::line::{Line, Log};
use crate::dossier::verify::{Finding, Kind};
use crate::report::words::capital;
use std::collections::BTreeSet;

/// The line a walk stands before: where to look, and what a later line said of it.
struct Expected {
    /// Number it must have.
    n: u64,
    /// Its digest; none where what said so is lost.
    digest: Option<Digest>,
    /// Who says so, for sentences.
    by: String,
}

/// A walk under way.
pub struct Walk<'a> {
    log: &'a Log,
    findings: &'a mut Vec<Finding>,
    /// Indices of lines whose bytes are known to have changed.
    pub damaged: BTreeSet<usize>,
    /// Lines in the order of the chain, last first.
    order: Vec<usize>,
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
        let mut index = self.start(head);
        let mut expected = self.start_expected(head, index);
        loop {
            let entry = self.visit(index, &expected);
            if let Some(first) = entry.as_ref().filter(|entry| entry.prev.is_none()) {
                self.begins(index, first);
                return;
            }
            let n = entry.as_ref().map_or(expected.n, |entry| entry.n);
            let wanted = Expected {
                n: n.saturating_sub(1),
                digest: entry.and_then(|entry| entry.prev),
                by: format!("entry {n}"),
            };
            match self.before(wanted) {
                Some(found) => (index, expected) = found,
                None => return,
            }
        }
    }

    /// The line to begin at: that which `head` names where it stands in the log, else the last.
    fn start(&mut self, head: Option<&Head>) -> usize {
        let last = self.log.lines.len() - 1;
        let Some(head) = head else { return last };
        let Some(found) = self.with_digest(&head.digest) else {
            return last;
        };
        let in_chain = (found + 1..=last).all(|later| self.follows(later - 1, later));
        if found == last || !in_chain {
            return found;
        }
        self.order.extend((found + 1..=last).rev());
        self.findings.push(match last - found {
            1 => Finding::remark(
                Kind::Interrupted,
                format!(
                    "Entry {} is whole, but the program was stopped before it noted it in the file head; the next entry will put that right.",
                    last + 1
                ),
            )
            .entry(last as u64 + 1),
            more => Finding::problem(
                Kind::OutOfChain,
                format!(
                    "The file head names entry {} as the last, but {more} entries follow on it: an older head was put back, or they were written by something other than this program.",
                    head.n
                ),
            )
            .file(HEAD),
        });
        found
    }

    fn start_expected(&mut self, head: Option<&Head>, index: usize) -> Expected {
        let lines = self.log.lines.len() as u64;
        let unknown = Expected {
            n: index as u64 + 1,
            digest: None,
            by: "the file head".into(),
        };
        let Some(head) = head else { return unknown };
        let line = &self.log.lines[index];
        if head_itself_changed(head, line) {
            let text = "The file head was changed: what it says of the last entry contradicts itself or its place.";
            self.findings
                .push(Finding::problem(Kind::Changed, text).file(HEAD));
            return unknown;
        }
        let said = Expected {
            n: head.n,
            digest: Some(head.digest.clone()),
            by: "the file head".into(),
        };
        if line.digest == head.digest || self.line_feed_explains(index, &head.digest) {
            return said;
        }
        if head.n == lines + 1 && self.last_line_feed_lost(head) {
            return unknown;
        }
        if head.n > lines {
            let text = format!(
                "The log is cut off: it holds {lines} of {} entries; missing at the end: {}.",
                head.n,
                span(lines + 1, head.n)
            );
            self.findings
                .push(Finding::problem(Kind::CutOff, text).entry(lines + 1));
            return unknown;
        }
        if head.n < lines {
            let text = format!(
                "The file head names {} as the number of entries, but the log holds {lines}, and none of its lines fits what head says of the last: head or the log was put together from elsewhere.",
                head.n
            );
            self.findings
                .push(Finding::problem(Kind::Changed, text).file(HEAD));
            return unknown;
        }
        said
    }

    /// Whether a line feed lost or put in explains why a line is not what it should be.
    fn line_feed_explains(&self, index: usize, digest: &Digest) -> bool {
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

    /// Whether the last line is there but for its line feed, which became another byte.
    fn last_line_feed_lost(&mut self, head: &Head) -> bool {
        let damage = head.digest.damage(&self.log.torn);
        let Some(damage @ Damage::OneByte { .. }) = damage else {
            return false;
        };
        let expected = Expected {
            n: head.n,
            digest: None,
            by: String::new(),
        };
        self.report_change(&damage, self.log.whole_bytes(), &expected);
        true
    }

    /// Takes a line into the chain, reports how it changed, and gives its entry as it was.
    fn visit(&mut self, index: usize, expected: &Expected) -> Option<Entry> {
        self.order.push(index);
        let line = &self.log.lines[index];
        if let Some(digest) = expected.digest.as_ref().filter(|d| !d.fits(&line.bytes)) {
            self.damaged.insert(index);
            return self.visit_changed(index, digest, expected);
        }
        match &line.entry {
            Ok(entry) => Some(entry.clone()),
            Err(why) => {
                let n = index as u64 + 1;
                let text = format!("Line {n} of the log cannot be read: {why}.");
                self.findings
                    .push(Finding::problem(Kind::Unreadable, text).entry(n));
                self.damaged.insert(index);
                None
            }
        }
    }

    fn visit_changed(
        &mut self,
        index: usize,
        digest: &Digest,
        expected: &Expected,
    ) -> Option<Entry> {
        let line = &self.log.lines[index];
        if let Some(entry) = self.line_feed_lost(line, digest, expected) {
            return entry;
        }
        if let Some(entry) = self.line_feed_put_in(index, digest, expected) {
            return entry;
        }
        let damage = digest.damage(&line.bytes)?;
        self.report_change(&damage, line.offset, expected);
        match damage {
            Damage::OneByte { offset, was, .. } => entry_with(&line.bytes, offset, was),
            _ => line.entry.clone().ok(),
        }
    }

    /// A line feed that became another byte joins two entries into one line; the later of them is
    /// the one expected.
    fn line_feed_lost(
        &mut self,
        line: &Line,
        digest: &Digest,
        expected: &Expected,
    ) -> Option<Option<Entry>> {
        let place = lost_line_feed(line, digest)?;
        let damage = Damage::OneByte {
            offset: place as u64,
            is: line.bytes[place],
            was: b'\n',
        };
        let joined = Expected {
            n: expected.n.saturating_sub(1),
            digest: None,
            by: String::new(),
        };
        self.report_change(&damage, line.offset, &joined);
        Some(serde_json::from_slice(&line.bytes[..place]).ok())
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

    fn report_change(&mut self, damage: &Damage, from: u64, expected: &Expected) {
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
        let exact = expected
            .digest
            .as_ref()
            .and_then(|digest| self.with_digest(digest))
            .filter(|found| !self.order.contains(found));
        if let Some(found) = exact {
            return Some((found, expected));
        }
        let here = self.order.last().copied().unwrap_or(0);
        let nearest = here
            .checked_sub(1)
            .filter(|before| !self.order.contains(before));
        let Some(nearest) = nearest else {
            self.report_missing(1, &expected);
            return None;
        };
        let line = &self.log.lines[nearest];
        let Some(digest) = &expected.digest else {
            return Some((nearest, expected));
        };
        let one_byte = matches!(digest.damage(&line.bytes), Some(Damage::OneByte { .. }));
        match line.entry.as_ref().map(|entry| entry.n) {
            // A gap; what stands before it is believed as it stands.
            Ok(n) if n < expected.n && !one_byte => {
                self.report_missing(n + 1, &expected);
                let by = format!("entry {}", n + 1);
                Some((
                    nearest,
                    Expected {
                        n,
                        digest: None,
                        by,
                    },
                ))
            }
            _ => Some((nearest, expected)),
        }
    }

    fn follows(&self, before: usize, after: usize) -> bool {
        let lines = &self.log.lines;
        let entry = lines[after].entry.as_ref();
        entry.is_ok_and(|e| {
            e.n == after as u64 + 1 && e.prev.as_ref() == Some(&lines[before].digest)
        })
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

    fn begins(&mut self, index: usize, entry: &Entry) {
        if entry.n != 1 {
            let text = format!(
                "Entry {} names no entry before it, as only the first may: the beginning of the log was replaced.",
                entry.n
            );
            self.findings
                .push(Finding::problem(Kind::Missing, text).entry(entry.n));
        } else if !matches!(entry.deed, Deed::Begin(_)) && !self.damaged.contains(&index) {
            let text = "Entry 1 does not begin a dossier: the beginning of the log was replaced.";
            self.findings
                .push(Finding::problem(Kind::Missing, text).entry(1));
        }
    }

    fn with_digest(&self, digest: &Digest) -> Option<usize> {
        self.log
            .lines
            .iter()
            .position(|line| line.digest == *digest)
    }

    /// Lines that belong to the chain but stand elsewhere than they were written.
    pub fn report_order(&mut self) {
        let forwards: Vec<usize> = self.order.iter().rev().copied().collect();
        if forwards.is_sorted() {
            return;
        }
        let mut places: Vec<usize> = forwards.clone();
        places.sort_unstable();
        let moved: Vec<String> = places
            .iter()
            .zip(&forwards)
            .filter(|(place, index)| place != index)
            .map(|(place, index)| {
                format!(
                    "what stands in line {} belongs in line {}",
                    index + 1,
                    place + 1
                )
            })
            .collect();
        let text = format!(
            "Entries stand in another order than they were written in: {}.",
            moved.join(", ")
        );
        self.findings.push(Finding::problem(Kind::Reordered, text));
    }

    /// Lines that the chain does not reach.
    pub fn report_strays(&mut self) {
        for (index, line) in self.log.lines.iter().enumerate() {
            if self.order.contains(&index) {
                continue;
            }
            self.damaged.insert(index);
            let called = line.entry.as_ref().map_or_else(
                |_| "cannot be read".into(),
                |e| format!("calls itself entry {}", e.n),
            );
            let copy = self.log.lines.iter().position(|l| l.bytes == line.bytes);
            let text = match copy.filter(|&copy| copy != index) {
                Some(copy) => format!("Line {} of the log repeats line {}.", index + 1, copy + 1),
                None => format!(
                    "Line {} of the log ({called}) belongs to no place in the chain: it was put in, or what it followed on is gone.",
                    index + 1
                ),
            };
            self.findings
                .push(Finding::problem(Kind::OutOfChain, text).entry(index as u64 + 1));
        }
    }
}

/// The entry of a line with one byte put back.
fn entry_with(bytes: &[u8], offset: u64, was: u8) -> Option<Entry> {
    let mut bytes = bytes.to_vec();
    *bytes.get_mut(usize::try_from(offset).ok()?)? = was;
    serde_json::from_slice(&bytes).ok()
}

/// Where a line's feed became another byte, if what stands behind it is the line expected.
fn lost_line_feed(line: &Line, digest: &Digest) -> Option<usize> {
    let later = usize::try_from(digest.bytes).ok()?;
    let place = line.bytes.len().checked_sub(later.checked_add(1)?)?;
    digest.fits(&line.bytes[place + 1..]).then_some(place)
}

/// Whether head says one thing of a line rightly and another wrongly, so that head is at fault.
fn head_itself_changed(head: &Head, line: &Line) -> bool {
    let (said, is) = (&head.digest, &line.digest);
    let right = [
        said.sha256 == is.sha256,
        said.bytes == is.bytes && said.sums == is.sums,
    ];
    if right == [true, true] {
        return line.entry.as_ref().is_ok_and(|entry| entry.n != head.n);
    }
    right[0] || right[1]
}

fn span(from: u64, to: u64) -> String {
    if from == to {
        format!("entry {from}")
    } else {
        format!("entries {from} to {to}")
    }
}
