//! A reading in short, as entries keep it.

use crate::examine::Examination;
use crate::report::words;
use crate::weigh::{Colouring, Process};
use serde::{Deserialize, Serialize};

/// A reading in short; the whole of it is in a file.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Summary {
    /// Key of the process read, or `undetermined`.
    pub process: String,
    /// Keys of where the colour lies.
    pub colouring: Vec<Colouring>,
    /// The reading in one sentence, with its strength.
    pub sentence: String,
    /// Number of photographs it rests on.
    pub photographs: usize,
}

impl Summary {
    /// The reading of an examination in short.
    #[must_use]
    pub fn of(examination: &Examination) -> Self {
        let reading = &examination.reading;
        Self {
            process: reading
                .process
                .map_or(words::UNDETERMINED_KEY, Process::key)
                .into(),
            colouring: reading.colouring.clone(),
            sentence: words::support_sentence(reading),
            photographs: examination.photos.len(),
        }
    }

    /// The process in the trade's words.
    #[must_use]
    pub fn process_name(&self) -> &str {
        process_name(&self.process)
    }

    /// Where the colour lies, in the trade's words.
    #[must_use]
    pub fn colouring_names(&self) -> String {
        let several = self.colouring.len() > 1;
        let name = |colouring: &Colouring| match colouring {
            // "Colour in the ink and undetermined" would be no English.
            Colouring::Undetermined if several => "perhaps more (left open)".to_owned(),
            other => other.name().to_owned(),
        };
        words::list(&self.colouring.iter().map(name).collect::<Vec<_>>())
    }
}

/// A process's name where the key is one of ours, else the words themselves.
#[must_use]
pub fn process_name(key: &str) -> &str {
    Process::from_key(key).map_or(key, |process| process.name())
}
