//! Lines that stand elsewhere than they were written, and lines that belong nowhere.

use super::walk::Walk;
use crate::dossier::verify::{Finding, Kind};

impl Walk<'_> {
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
            let called = line.entry.as_ref().map_or_else(
                |_| "cannot be read".into(),
                |e| format!("calls itself entry {}", e.n),
            );
            let copy = self.log.lines.iter().position(|l| l.bytes == line.bytes);
            let copy = copy.filter(|&copy| copy != index);
            // The bytes of a copy are as sound as those that it repeats.
            if copy.is_none_or(|copy| self.damaged.contains(&copy)) {
                self.damaged.insert(index);
            }
            let text = match copy {
                Some(copy) => format!("Line {} of the log repeats line {}.", index + 1, copy + 1),
                None => format!(
                    "Line {} of the log ({called}) belongs to no place in the chain: it was put in, or what it followed on is gone.",
                    index + 1
                ),
            };
            let finding = Finding::problem(Kind::OutOfChain, text);
            self.findings.push(match &line.entry {
                Ok(entry) => finding.entry(entry.n),
                Err(_) => finding,
            });
        }
    }
}
