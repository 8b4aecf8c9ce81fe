//! The two processes that are left where none is named.

use super::chances::Chances;
use super::fuse;
use super::reading::{Process, REPRODUCTION_EXCLUDED};

/// Two processes are named as all that is left when a wrong call, taken as twenty times as bad as no
/// call, would still be the better bet: a statement that helps less must be surer.
const SURE_OF_TWO: f64 = 0.95;

/// The two that are left by the odds given beforehand, where what was measured leaves the same two.
pub(super) fn last_two_as_measured(chances: &Chances, shows_screens: bool) -> Vec<Process> {
    let by_the_odds = last_two(&chances.posterior, shows_screens);
    let equal = [1.0; Process::ALL.len()];
    let measured = last_two(&fuse::posterior(&chances.bounded, &equal), shows_screens);
    let same = by_the_odds.iter().all(|p| measured.contains(p));
    if same { by_the_odds } else { Vec::new() }
}

/// The two likeliest processes, where together they are sure enough and a screen would show; two period
/// processes only where a reproduction is excluded.
fn last_two(posterior: &[f64], shows_screens: bool) -> Vec<Process> {
    // Where a screen would not show, what parts the other processes does not either: of eleven real scans so
    // coarse that were left between two processes, three were of a third.
    if !shows_screens {
        return Vec::new();
    }
    let mut order = Process::ALL;
    order.sort_by(|a, b| posterior[*b as usize].total_cmp(&posterior[*a as usize]));
    let two = &order[..2];
    let sure = two.iter().map(|p| posterior[*p as usize]).sum::<f64>() >= SURE_OF_TWO;
    let reproduction = posterior[Process::Halftone as usize];
    let excluded = reproduction <= REPRODUCTION_EXCLUDED;
    if sure && (two.contains(&Process::Halftone) || excluded) {
        two.to_vec()
    } else {
        Vec::new()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn two_are_left_only_when_sure_and_a_reproduction_is_excluded_or_one_of_them() {
        use Process::{Halftone, LineEngraving, Lithograph, TintedLithograph};
        assert_eq!(
            last_two(&[0.003, 0.002, 0.36, 0.63, 0.005], true),
            [TintedLithograph, Lithograph]
        );
        assert_eq!(
            last_two(&[0.02, 0.5, 0.0, 0.0, 0.48], true),
            [LineEngraving, Halftone]
        );
        // A reproduction is not excluded.
        assert!(last_two(&[0.0, 0.0, 0.38, 0.59, 0.03], true).is_empty());
        assert!(last_two(&[0.08, 0.0, 0.4, 0.515, 0.005], true).is_empty());
        // A screen would not show.
        assert!(last_two(&[0.003, 0.002, 0.36, 0.63, 0.005], false).is_empty());
        assert!(last_two(&[0.02, 0.5, 0.0, 0.0, 0.48], false).is_empty());
    }
}
