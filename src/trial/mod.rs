//! Trials: measure things whose truth is known, and say how well the readings do.
//!
//! - [`specimens`]: drawn specimens, for fitting the reference and for scoring it on others.
//! - [`photos`]: a folder of photographs with a manifest, of prints that nobody here drew.
//! - [`figures`]: measured figures against drawn truth: error, and how often intervals hold it.
//! - [`tally`]: confusion matrix, decided share, cost, in words.

pub mod figures;
pub mod photos;
pub mod specimens;
pub mod tally;

use crate::weigh::{Colouring, Process, Reading};

/// One photograph read, beside its truth.
#[derive(Clone, Debug)]
pub struct Outcome {
    /// File or seed.
    pub name: String,
    /// Group that must not be split between fitting and scoring (a book, a hand); empty for specimens.
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

    /// The worst error: a reproduction read as a period print.
    #[must_use]
    pub fn reproduction_called_period(&self) -> bool {
        self.process == Some(Process::Halftone)
            && self
                .reading
                .process
                .is_some_and(|read| read != Process::Halftone)
    }
}
