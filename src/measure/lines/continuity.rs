//! Whether lines run on across the border between two windows, or two systems only look alike.
//!
//! Two leaves side by side may carry hatching of nearly one direction and spacing; their lines do
//! not meet. Where lines run on, the phase two windows on follows from the frequencies between.

use super::ripple::Ripple;
use super::systems::Waves;
use std::collections::BTreeMap;
use std::f64::consts::{FRAC_PI_3, TAU};

/// Neighbours ahead in reading order, (down, right); with those behind they are all eight.
const AHEAD: [(i64, i64); 4] = [(0, 1), (1, -1), (1, 0), (1, 1)];
/// Phase left over at which lines still meet. Unrelated lines pass in one case of three.
const MEETS_RAD: f64 = FRAC_PI_3;
/// Share of votes along a border at which lines run on over it; halfway between chance (1/3) and
/// certainty.
const RUNS_ON: f64 = 2.0 / 3.0;
/// Borders to either side whose votes are heard: neighbouring votes rest on the same lines.
const BORDER_REACH: i64 = 2;
/// Fewest votes for a verdict; below, agreement of direction and spacing must do.
const MIN_VOTES: usize = 4;
/// Windows farther apart than this share of their side share few lines and vote directly.
const APART: f64 = 0.75;

/// Votes for lines running on across one border.
#[derive(Clone, Copy, Debug, Default)]
struct Votes {
    meet: usize,
    all: usize,
}

/// Pairs of waves in neighbouring windows that belong to one system.
pub(super) fn links(field: &Waves, limit: f64) -> Vec<(usize, usize)> {
    let mut links = Vec::new();
    for step in AHEAD {
        let borders: BTreeMap<usize, (usize, Votes)> = (0..field.nodes.len())
            .filter(|&i| field.founds(i))
            .filter_map(|i| {
                let j = field.onward(i, step, limit)?;
                field
                    .founds(j)
                    .then(|| (i, (j, votes(field, i, j, step, limit))))
            })
            .collect();
        for (&i, &(j, own)) in &borders {
            if run_on(along(field, &borders, i, own, step, limit)) {
                links.push((i, j));
            }
        }
    }
    links
}

fn run_on(votes: Votes) -> bool {
    votes.all < MIN_VOTES || votes.meet as f64 >= RUNS_ON * votes.all as f64
}

/// Votes of the border between `i` and `j`: from the window before `i` to `j`, and from `i` to the
/// window after `j`; or from `i` to `j` where they hardly overlap.
fn votes(field: &Waves, i: usize, j: usize, (down, right): (i64, i64), limit: f64) -> Votes {
    let wave = |i: usize| &field.nodes[i].ripple;
    let layer = &field.layers[field.nodes[i].window.layer];
    let mut votes = Votes::default();
    if layer.stride_px >= APART * layer.side_px {
        votes.count(phase_left([wave(i), wave(i), wave(j)]));
        return votes;
    }
    if let Some(before) = field.onward(i, (-down, -right), limit) {
        votes.count(phase_left([wave(before), wave(i), wave(j)]));
    }
    if let Some(after) = field.onward(j, (down, right), limit) {
        votes.count(phase_left([wave(i), wave(j), wave(after)]));
    }
    votes
}

impl Votes {
    fn count(&mut self, phase_left: f64) {
        self.all += 1;
        self.meet += usize::from(phase_left.abs() <= MEETS_RAD);
    }

    fn add(&mut self, other: Self) {
        self.all += other.all;
        self.meet += other.meet;
    }
}

/// A border's votes with those of its neighbours along it.
fn along(
    field: &Waves,
    borders: &BTreeMap<usize, (usize, Votes)>,
    i: usize,
    own: Votes,
    (down, right): (i64, i64),
    limit: f64,
) -> Votes {
    let mut sum = own;
    for side in [(-right, down), (right, -down)] {
        let mut at = i;
        for _ in 0..BORDER_REACH {
            let Some(next) = field.onward(at, side, limit) else {
                break;
            };
            if let Some((_, votes)) = borders.get(&next) {
                sum.add(*votes);
            }
            at = next;
        }
    }
    sum
}

/// Phase left over from the first to the last wave when the frequency is integrated between them by
/// Simpson's rule, (−π, π].
fn phase_left([first, middle, last]: [&Ripple; 3]) -> f64 {
    let sign = |w: &Ripple| {
        if w.fx * middle.fx + w.fy * middle.fy < 0.0 {
            -1.0
        } else {
            1.0
        }
    };
    let (s, t) = (sign(first), sign(last));
    let fx = (s * first.fx + 4.0 * middle.fx + t * last.fx) / 6.0;
    let fy = (s * first.fy + 4.0 * middle.fy + t * last.fy) / 6.0;
    let turns = fx * (last.x - first.x) + fy * (last.y - first.y);
    let left = t * last.phase - s * first.phase - TAU * turns;
    left - TAU * (left / TAU).round()
}
