//! Why a process is not named.

use super::read::{index_of_largest, may_show_screens};
use super::reading::{FITS, Process, RELIEF_EXCLUDED, REPRODUCTION_EXCLUDED};
use crate::measure::Examined;
use crate::photo::adequacy::Verdict;

/// A process is read when a wrong call, taken as ten times as bad as no call, would still be the
/// better bet: at 1 − 1/10.
pub const SURE_ENOUGH: f64 = 0.9;
/// Pixels per mm below which no period process is named: a screen of 150 lines an inch would have
/// under four pixels a line, and only 8 % of the reference specimens are as coarse. (Of 13 scans of
/// screened prints at 5–16 px/mm two came out at under 1 % for a reproduction.)
pub const SCREENS_SHOW_PX_PER_MM: f64 = 20.0;

/// What a reading is judged by.
pub struct Weighed<'a> {
    /// The photographs.
    pub photos: &'a [Examined],
    /// Probability of each process.
    pub posterior: &'a [f64],
    /// The likeliest.
    pub best: usize,
    /// Share of its reference specimens that lie as far out.
    pub fit: Option<f64>,
    /// Chance of a relief print.
    pub relief: f64,
    /// Whether anything was measured.
    pub anything: bool,
}

/// Reasons against naming the likeliest process; none where it may be named.
#[must_use]
pub fn reasons(weighed: &Weighed) -> Vec<String> {
    let &Weighed {
        photos,
        posterior,
        best,
        fit,
        relief,
        anything,
    } = weighed;
    let mut because = Vec::new();
    if photos
        .iter()
        .all(|p| p.photo.adequacy.verdict == Verdict::Unusable)
    {
        because.push("the photograph is too poor to carry any measurement".to_owned());
    } else if best != Process::Halftone as usize && !photos.iter().any(may_show_screens) {
        because.push(format!(
            "a fine screen would not show at this scale; {SCREENS_SHOW_PX_PER_MM:.0} pixels per mm are asked for before a period process is named"
        ));
    }
    if !anything {
        because.push("nothing could be measured on it".to_owned());
        return because;
    }
    let name = Process::ALL[best].name();
    match fit {
        Some(p) if p < FITS => because.push(format!(
            "it resembles none of the five processes: only {:.1}\u{a0}% of reference specimens of {name}, the nearest, lie as far out",
            100.0 * p
        )),
        _ => {}
    }
    if relief >= RELIEF_EXCLUDED {
        because.push(format!(
            "a woodcut or wood engraving, which is outside the five, is not excluded: its chance is {:.1}\u{a0}% at even odds, and below {:.0}\u{a0}% is asked for",
            100.0 * relief,
            100.0 * RELIEF_EXCLUDED
        ));
    }
    let halftone = posterior[Process::Halftone as usize];
    if posterior[best] < SURE_ENOUGH {
        let second = index_of_largest(
            &posterior
                .iter()
                .enumerate()
                .map(|(k, &p)| if k == best { -1.0 } else { p })
                .collect::<Vec<_>>(),
        );
        because.push(format!(
            "{name} is likeliest ({:.1}\u{a0}%, then {} with {:.1}\u{a0}%), but {:.0}\u{a0}% is asked for",
            100.0 * posterior[best],
            Process::ALL[second].name(),
            100.0 * posterior[second],
            100.0 * SURE_ENOUGH
        ));
    } else if best != Process::Halftone as usize && halftone > REPRODUCTION_EXCLUDED {
        because.push(format!(
            "a reproduction is not excluded: its chance is {:.1}\u{a0}%, and below {:.0}\u{a0}% is asked for before a period process is named",
            100.0 * halftone,
            100.0 * REPRODUCTION_EXCLUDED
        ));
    }
    because
}
