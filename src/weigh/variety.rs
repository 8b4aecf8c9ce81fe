//! Varieties of a process: prints of one process that no finding has one distribution for.
//!
//! A reproduction by an even screen shows its lattice; one by scattered spots shows none, but spots finer than any
//! crayon's. Weighed as one process, each finding speaks for "either", and the two never add up to "neither": a
//! crayon lithograph without a lattice and without fine spots stays half a reproduction. So varieties are weighed
//! apart, and a process is as likely as its varieties together.

use super::reading::{Colouring, Process};
use super::table::{Row, Subject};
use super::weigher::IN_COMPANY;

/// Share of the sheet from which a tint covers all of it: lights cut out of it are no bare paper to set it against.
const ALL_OVER: f64 = 0.95;

/// A variety of one of the five processes.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Variety {
    /// Any stipple engraving.
    Stippled,
    /// Any line engraving.
    Engraved,
    /// A lithograph without wash.
    Lithographed,
    /// A lithograph washed by hand.
    LithographedAndWashed,
    /// A tinted lithograph with bare paper in view, without wash.
    Tinted,
    /// A tinted lithograph with bare paper in view, washed by hand.
    TintedAndWashed,
    /// A tinted lithograph whose tint covers all that is seen: like a plain one on paper of that colour.
    TintedAllOver,
    /// A reproduction whose dots or lines stand in rows.
    InRows,
    /// A reproduction in scattered spots of several inks: stochastic or inkjet.
    ScatteredInColour,
    /// A reproduction in scattered spots of black.
    ScatteredInBlack,
}

impl Variety {
    /// All of them, in the order of the reference's hypotheses.
    pub const ALL: [Self; 10] = [
        Self::Stippled,
        Self::Engraved,
        Self::Lithographed,
        Self::LithographedAndWashed,
        Self::Tinted,
        Self::TintedAndWashed,
        Self::TintedAllOver,
        Self::InRows,
        Self::ScatteredInColour,
        Self::ScatteredInBlack,
    ];

    /// The process that it is a variety of.
    #[must_use]
    pub fn process(self) -> Process {
        match self {
            Self::Stippled => Process::StippleEngraving,
            Self::Engraved => Process::LineEngraving,
            Self::Lithographed | Self::LithographedAndWashed => Process::Lithograph,
            Self::Tinted | Self::TintedAndWashed | Self::TintedAllOver => Process::TintedLithograph,
            Self::InRows | Self::ScatteredInColour | Self::ScatteredInBlack => Process::Halftone,
        }
    }

    /// Its share of its process, taken beforehand; the shares of a process add up to 1. Guesses at what comes up
    /// for reading, near what the specimen series draws.
    #[must_use]
    pub fn share(self) -> f64 {
        match self {
            Self::Stippled | Self::Engraved => 1.0,
            Self::Lithographed => 0.6,
            Self::LithographedAndWashed => 0.4,
            Self::Tinted => 0.68,
            Self::TintedAndWashed => 0.24,
            Self::TintedAllOver => 0.08,
            Self::InRows => 0.7,
            Self::ScatteredInColour => 0.2,
            Self::ScatteredInBlack => 0.1,
        }
    }

    /// The variety of a measured specimen; none outside the five.
    #[must_use]
    pub fn of(row: &Row) -> Option<Self> {
        let Subject::Process(process) = row.subject else {
            return None;
        };
        let washed = row.colouring.contains(&Colouring::HandWash);
        let all_over = row.tinted.is_some_and(|share| share >= ALL_OVER);
        let in_colour = row.colouring.contains(&Colouring::ProcessColour);
        Some(match process {
            Process::StippleEngraving => Self::Stippled,
            Process::LineEngraving => Self::Engraved,
            Process::Lithograph if washed => Self::LithographedAndWashed,
            Process::Lithograph => Self::Lithographed,
            Process::TintedLithograph if all_over => Self::TintedAllOver,
            Process::TintedLithograph if washed => Self::TintedAndWashed,
            Process::TintedLithograph => Self::Tinted,
            Process::Halftone if !row.scattered => Self::InRows,
            Process::Halftone if in_colour => Self::ScatteredInColour,
            Process::Halftone => Self::ScatteredInBlack,
        })
    }
}

/// Share of what findings say of varieties each by itself; in company they speak of processes alike. Varieties of a process
/// are set against each other by the former, unlessened.
const ALONE: f64 = 1.0 - IN_COMPANY;

/// ln likelihood of each process from those of its varieties, which count by their shares.
#[must_use]
pub fn by_process(ln: &[f64]) -> Vec<f64> {
    let top = ln.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    let mut mass = [0.0; Process::ALL.len()];
    for (variety, l) in Variety::ALL.into_iter().zip(ln) {
        mass[variety.process() as usize] += variety.share() * ((l - top) / ALONE).exp();
    }
    mass.iter().map(|m| top + ALONE * m.ln()).collect()
}

/// What is said of each variety → what is said of each process: the mean over its varieties, by how likely each of
/// them is, once all is weighed, were it that process. `total` is the ln likelihood of each variety by all findings.
#[must_use]
pub fn said_of_processes(said: &[f64], total: &[f64]) -> Vec<f64> {
    let processes = by_process(total);
    let mut mean = vec![0.0; Process::ALL.len()];
    for ((variety, s), t) in Variety::ALL.into_iter().zip(said).zip(total) {
        let process = variety.process() as usize;
        mean[process] += variety.share() * ((t - processes[process]) / ALONE).exp() * s;
    }
    mean
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_abs_diff_eq;

    #[test]
    fn shares_of_each_process_add_up_to_one() {
        for process in Process::ALL {
            let shares = Variety::ALL.into_iter().filter(|v| v.process() == process);
            assert_abs_diff_eq!(
                shares.map(Variety::share).sum::<f64>(),
                1.0,
                epsilon = 1e-12
            );
        }
    }

    #[test]
    fn silence_about_varieties_is_silence_about_processes() {
        for l in by_process(&[0.0; Variety::ALL.len()]) {
            assert_abs_diff_eq!(l, 0.0, epsilon = 1e-12);
        }
    }

    #[test]
    fn a_process_lives_by_its_likeliest_variety_and_excluding_all_excludes_it() {
        let mut ln = [0.0; Variety::ALL.len()];
        ln[Variety::InRows as usize] = -20.0;
        // Scattered spots, 30 % of reproductions, are still open.
        let halftone = Process::Halftone as usize;
        assert_abs_diff_eq!(
            by_process(&ln)[halftone],
            ALONE * 0.3_f64.ln(),
            epsilon = 1e-6
        );
        ln[Variety::ScatteredInColour as usize] = -20.0;
        ln[Variety::ScatteredInBlack as usize] = -20.0;
        assert_abs_diff_eq!(by_process(&ln)[halftone], -20.0, epsilon = 1e-6);
        // Far apart, no overflow.
        ln[0] = 900.0;
        assert_abs_diff_eq!(by_process(&ln)[0], 900.0, epsilon = 1e-6);
    }

    #[test]
    fn what_findings_say_adds_up_but_for_how_common_the_variety_is() {
        let rows = [
            [0.1, 0.2, 1.5, -2.0, 0.0, 0.3, 1.1, -3.0, 0.5, 0.8],
            [0.0, -1.0, 0.5, 0.2, 0.9, -0.3, -0.7, 0.1, -0.5, 1.8],
        ];
        let total: Vec<f64> = (0..Variety::ALL.len())
            .map(|v| rows.iter().map(|row| row[v]).sum())
            .collect();
        let whole = by_process(&total);
        for (process, whole) in whole.iter().enumerate() {
            let sum: f64 = rows
                .iter()
                .map(|row| said_of_processes(row, &total)[process])
                .sum();
            let rarest = Variety::ALL
                .into_iter()
                .filter(|v| v.process() as usize == process)
                .map(Variety::share)
                .fold(1.0, f64::min);
            assert!(
                (ALONE * rarest.ln() - 1e-9..=1e-9).contains(&(whole - sum)),
                "{process}: {whole} {sum}"
            );
        }
    }
}
