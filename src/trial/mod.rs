//! Trials: measure things whose truth is known, and say how well the readings do.
//!
//! - [`specimens`]: drawn specimens, for fitting the reference and for scoring it on others.
//! - [`sheets`]: drawn sheets in several photographs: what a second one adds.
//! - [`photos`]: a folder of photographs with a manifest, of prints that nobody here drew.
//! - [`held_out`]: the table's specimens weighed by references that never saw them.
//! - [`figures`]: measured figures against drawn truth: error, and how often intervals hold it.
//! - [`tally`]: confusion matrix, decided share, cost, in words.

pub mod figures;
pub mod held_out;
pub mod photos;
pub mod sheets;
pub mod specimens;
pub mod tally;

use crate::weigh::{Colouring, Process, Reading};

/// One photograph read, beside its truth.
#[derive(Clone, Debug)]
pub struct Outcome {
    /// File or seed.
    pub name: String,
    /// What it belongs to: a book or a hand, which must not be split between fitting and scoring; of a specimen the
    /// range that its resolution lies in.
    pub group: String,
    /// True process; none for something outside the five.
    pub process: Option<Process>,
    /// True colouring; empty where unknown.
    pub colouring: Vec<Colouring>,
    /// What was read.
    pub reading: Reading,
}

impl Outcome {
    /// Whether the process read is the true one; none when undetermined.
    #[must_use]
    pub fn right(&self) -> Option<bool> {
        self.reading.process.map(|read| Some(read) == self.process)
    }

    /// Whether the true process is one of the two that are left; none when a process is read or more
    /// than two are left.
    #[must_use]
    pub fn narrowed_rightly(&self) -> Option<bool> {
        let left = &self.reading.narrowed_to;
        (!left.is_empty()).then(|| self.process.is_some_and(|truth| left.contains(&truth)))
    }

    /// Kinds of colouring that are named, and whether each is there; none where the truth is unknown.
    pub fn colouring_named(&self) -> impl Iterator<Item = (Colouring, bool)> {
        let named = self.reading.colouring.iter().copied();
        named
            .filter(|kind| !self.colouring.is_empty() && *kind != Colouring::Undetermined)
            .map(|kind| (kind, self.colouring.contains(&kind)))
    }

    /// Whether the colouring is read just as it is, with nothing left open.
    #[must_use]
    pub fn colouring_is_exact(&self) -> bool {
        let (mut truth, mut read) = (self.colouring.clone(), self.reading.colouring.clone());
        truth.sort();
        read.sort();
        truth == read
    }

    /// The worst error: a reproduction read as a period print, or as one of two.
    #[must_use]
    pub fn reproduction_called_period(&self) -> bool {
        let reading = &self.reading;
        let named = reading.process.iter().chain(&reading.narrowed_to);
        self.process == Some(Process::Halftone)
            && named.clone().next().is_some()
            && named.copied().all(|read| read != Process::Halftone)
    }
}
