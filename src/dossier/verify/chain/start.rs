//! Where the way back begins: what `head` says of the last line, against the lines there are.

use super::walk::{Expected, Walk, span};
use super::{Head, not_noted};
use crate::dossier::HEAD;
use crate::dossier::digest::Damage;
use crate::dossier::line::Line;
use crate::dossier::verify::{Finding, Kind};
use crate::report::words::counted;

impl Walk<'_> {
    /// The line to begin at, and what is expected of it.
    pub(super) fn start(&mut self, head: Option<&Head>) -> (usize, Expected) {
        let index = self.start_line(head);
        let own = self.number(index);
        let unknown = Expected {
            n: own.or(head.map(|h| h.n)).unwrap_or(index as u64 + 1),
            digest: None,
            by: "the file head".into(),
        };
        let Some(head) = head else {
            return (index, unknown);
        };
        let line = &self.log.lines[index];
        if head_itself_changed(head, line) {
            let text = "The file head was changed: what it says of the last entry contradicts itself or its place.";
            self.findings
                .push(Finding::problem(Kind::Changed, text).file(HEAD));
            return (index, unknown);
        }
        let said = Expected {
            n: head.n,
            digest: Some(head.digest.clone()),
            by: "the file head".into(),
        };
        let fits = line.digest == head.digest || self.explained(index, &head.digest);
        // A line that cannot be read may be the one that head names; it is held against it.
        let Some(last) = own.filter(|_| !fits) else {
            return (index, said);
        };
        if self.last_line_feed_lost(head) {
            return (index, unknown);
        }
        let lines = counted(self.log.lines.len(), "line");
        if head.n > last {
            let text = format!(
                "The log is cut off: it holds {} of {} entries; missing at the end: {}.",
                self.log.lines.len(),
                head.n,
                span(last + 1, head.n)
            );
            self.findings
                .push(Finding::problem(Kind::CutOff, text).entry(last + 1));
            return (index, unknown);
        }
        if head.n < last {
            let text = format!(
                "The file head names {} as the number of entries, but the log holds {lines} and goes on to entry {last}, and none of its lines fits what head says of the last: head or the log was put together from elsewhere.",
                head.n
            );
            self.findings
                .push(Finding::problem(Kind::Changed, text).file(HEAD));
            return (index, unknown);
        }
        (index, said)
    }

    /// The line that `head` names, wherever it stands; else that with the greatest number, for
    /// lines may have been moved; else the last.
    fn start_line(&mut self, head: Option<&Head>) -> usize {
        let lines = &self.log.lines;
        let last = lines.len() - 1;
        if let Some(head) = head {
            if let Some(found) = self.with_digest(&head.digest) {
                self.beyond_head(head, found);
                return found;
            }
            let close = |i: &usize| {
                self.explained(*i, &head.digest) || head_itself_changed(head, &lines[*i])
            };
            if let Some(found) = (0..=last).rev().find(close) {
                return found;
            }
        }
        if lines[last].entry.is_err() {
            return last;
        }
        let numbered = (0..=last).filter_map(|i| Some((i, self.number(i)?)));
        let (top, n) = numbered.max_by_key(|found| found.1).unwrap_or((last, 0));
        // A number beyond what head names is an invention.
        if head.is_some_and(|head| n > head.n) {
            last
        } else {
            top
        }
    }

    /// Number that a line gives itself; none where it cannot be read.
    fn number(&self, index: usize) -> Option<u64> {
        let entry = self.log.lines[index].entry.as_ref();
        entry.ok().map(|entry| entry.n)
    }

    /// Entries that follow on the one that `head` names.
    fn beyond_head(&mut self, head: &Head, found: usize) {
        let last = self.log.lines.len() - 1;
        let in_chain = (found + 1..=last).all(|later| self.follows(later - 1, later));
        if found == last || !in_chain {
            return;
        }
        self.order.extend((found + 1..=last).rev());
        let n = self.number(last).unwrap_or(last as u64 + 1);
        self.findings.push(match last - found {
            1 => not_noted(n),
            more => Finding::problem(
                Kind::OutOfChain,
                format!(
                    "The file head names entry {} as the last, but {more} entries follow on it: an older head was put back, or they were written by something other than this program.",
                    head.n
                ),
            )
            .file(HEAD),
        });
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

    /// Whether a line was written right after the one that stands before it.
    fn follows(&self, before: usize, after: usize) -> bool {
        let lines = &self.log.lines;
        let next = self.number(before).map(|n| n + 1);
        let entry = lines[after].entry.as_ref();
        entry.is_ok_and(|e| Some(e.n) == next && e.prev.as_ref() == Some(&lines[before].digest))
    }
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
