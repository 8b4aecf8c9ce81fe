//! Which waves belong together as one screen, and which are only sums of others.

use super::phase::Phase;
use super::track::Track;

/// Two vectors of a square screen may differ by this share in length: a camera tilt of 10°
/// shortens one axis by 1.5 %.
const SQUARE_LENGTH_SHARE: f64 = 0.02;
/// … and by this from a right angle, degrees.
const SQUARE_ANGLE_DEG: f64 = 1.2;
/// Cosine of the colours of two waves of one ink.
pub(super) const SAME_COLOUR: f64 = 0.90;
/// A wave this near (as a share of its own length) to a sum of others is taken as that sum: a
/// weak wave in a field of 60 periods is placed to about half a period, 1 %.
const SUM_SHARE: f64 = 0.01;
/// Highest multiple of a vector looked at in sums.
const MAX_MULTIPLE: i32 = 4;
/// A sum of two inks' vectors is weaker than its parts by at least this: the product of two
/// area modulations, each under 0.64 (a square wave's fundamental).
const MOIRE_SHARE: f64 = 0.40;
/// A coarser screen gives way to a finer one only when weaker than this share of it: then it is
/// a beat of the engine's cell, not the cell.
const COARSE_SHARE: f64 = 0.25;
/// A screen weaker than this share of the strongest is residue: under a tenth of the amplitude lies a hundredth of
/// the power, the level of harmonics of harmonics. Set below that, so that pale yellow screens stay.
const FAINT_SHARE: f64 = 0.06;
/// Dots swing in both directions alike; where one falls short of this share the screen is lines.
pub(super) const LINE_SHARE: f64 = 0.3;
/// Waves of a screen that is not square must keep step this well: no right angle vouches for them.
const MIN_LONE_COHERENCE: f64 = 0.75;
/// Waves of a square screen must keep step this well; hatching crossed at right angles, drawn
/// line by line, was seen to reach 0.63.
const MIN_SQUARE_COHERENCE: f64 = 0.7;
/// A lone wave must keep step better still: ruled hatching wanders from line to line.
const MIN_LINE_COHERENCE: f64 = 0.8;

/// The shape of a screen's lattice.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Shape {
    /// Two vectors of one length at a right angle.
    Square,
    /// Two vectors of different lengths at a right angle.
    Rectangular,
    /// Any two vectors.
    Oblique,
    /// One vector.
    Line,
}

/// A screen: one or two waves of one colour.
#[derive(Clone, Debug)]
pub struct Grid {
    /// Shape.
    pub shape: Shape,
    /// Indices of its waves, the shorter vector first.
    pub waves: Vec<usize>,
    /// Indices of two waves whose sums account for others: its own, or for lines the wave and
    /// its faint companion at a right angle.
    basis: [usize; 2],
    /// Unit vector of the modulation in density R, G, B.
    pub colour: [f64; 3],
    /// Amplitude of the weaker wave, density.
    pub strength: f64,
}

/// Screens, strongest first.
#[must_use]
pub fn assemble(tracks: &[Track]) -> Vec<Grid> {
    let mut grids: Vec<Grid> = Vec::new();
    for pair in square_pairs(tracks) {
        if pair.waves.iter().any(|&w| explained(tracks, w, &grids)) {
            continue;
        }
        let lines = lines_under(tracks, &pair);
        let pair = lines.unwrap_or(pair);
        // The lines under a faint pair may be a wave of a screen that stands already.
        let taken = |w: &usize| grids.iter().any(|g| g.waves.contains(w));
        if pair.waves.iter().any(taken) {
            continue;
        }
        grids.retain(|g| !is_made_of(tracks, g, &pair));
        grids.push(pair);
    }
    while let Some(next) = next_other(tracks, &grids) {
        grids.push(next);
    }
    for i in 0..grids.len() {
        if let Some(coarser) = under_other_inks(tracks, &grids, &grids[i]) {
            grids[i] = coarser;
        }
    }
    let strongest = grids.iter().map(|g| g.strength).fold(0.0, f64::max);
    grids.retain(|g| g.strength >= FAINT_SHARE * strongest);
    grids.sort_by(|a, b| b.strength.total_cmp(&a.strength));
    grids
}

/// Unit vector of a colour; grey photographs have one channel.
pub(super) fn unit(colour: [f64; 3]) -> [f64; 3] {
    let length = colour.iter().map(|c| c * c).sum::<f64>().sqrt();
    colour.map(|c| c / length.max(1e-30))
}

pub(super) fn cosine(a: [f64; 3], b: [f64; 3]) -> f64 {
    a.iter().zip(b).map(|(x, y)| x * y).sum()
}

fn grid(tracks: &[Track], shape: Shape, mut waves: Vec<usize>) -> Grid {
    waves.sort_by(|&a, &b| tracks[a].magnitude().total_cmp(&tracks[b].magnitude()));
    let colour = waves.iter().fold([0.0; 3], |sum, &w| {
        std::array::from_fn(|c| sum[c] + tracks[w].colour[c])
    });
    let strength = waves
        .iter()
        .map(|&w| tracks[w].strength())
        .fold(f64::INFINITY, f64::min);
    let basis = [waves[0], waves[waves.len() - 1]];
    Grid {
        shape,
        waves,
        basis,
        colour: unit(colour),
        strength,
    }
}

fn square_pairs(tracks: &[Track]) -> Vec<Grid> {
    let mut pairs = Vec::new();
    for i in 0..tracks.len() {
        for j in i + 1..tracks.len() {
            let (a, b) = (&tracks[i], &tracks[j]);
            if is_square(a, b) && cosine(unit(a.colour), unit(b.colour)) >= SAME_COLOUR {
                pairs.extend(right_angled(tracks, i, j));
            }
        }
    }
    pairs.sort_by(|a, b| b.strength.total_cmp(&a.strength));
    pairs
}

/// A square screen, or lines where one of the waves is faint.
fn right_angled(tracks: &[Track], i: usize, j: usize) -> Option<Grid> {
    let (strong, faint) = if tracks[i].strength() >= tracks[j].strength() {
        (i, j)
    } else {
        (j, i)
    };
    if tracks[strong].coherence.min(tracks[faint].coherence) < MIN_SQUARE_COHERENCE {
        return None;
    }
    if tracks[faint].strength() >= LINE_SHARE * tracks[strong].strength() {
        return Some(grid(tracks, Shape::Square, vec![i, j]));
    }
    (tracks[strong].coherence >= MIN_LINE_COHERENCE).then(|| Grid {
        basis: [strong, faint],
        ..grid(tracks, Shape::Line, vec![strong])
    })
}

/// The line screen of which a pair is only the faint diagonal sums: a far stronger wave of the
/// same colour lies half way between, or at, the pair's own sum.
fn lines_under(tracks: &[Track], pair: &Grid) -> Option<Grid> {
    let [p, q] = pair.basis.map(|w| tracks[w].phase.frequency);
    let between = |w: usize| {
        let f = tracks[w].phase.frequency;
        let reach = SUM_SHARE * 2.0 * tracks[w].magnitude();
        [1.0, -1.0].iter().any(|sign| {
            let sum = [p[0] + sign * q[0], p[1] + sign * q[1]];
            [-2.0, -1.0, 1.0, 2.0]
                .iter()
                .any(|k| (sum[0] - k * f[0]).hypot(sum[1] - k * f[1]) < reach)
        })
    };
    (0..tracks.len())
        .filter(|&w| {
            tracks[w].coherence >= MIN_LINE_COHERENCE
                && LINE_SHARE * tracks[w].strength() > pair.strength
                && cosine(unit(tracks[w].colour), pair.colour) >= SAME_COLOUR
                && between(w)
        })
        .max_by(|&a, &b| tracks[a].strength().total_cmp(&tracks[b].strength()))
        .map(|w| Grid {
            basis: [w, pair.basis[0]],
            ..grid(tracks, Shape::Line, vec![w])
        })
}

/// The screen of which another is only the diagonals, where its own waves were laid to two other inks. At the usual angles
/// (cyan 15°, black 45°, magenta 75°) and one ruling the first waves of black are sums of those of cyan and magenta, so
/// black that covers little passes for what these two make together, and only its diagonals, √2 finer, are left.
fn under_other_inks(tracks: &[Track], grids: &[Grid], fine: &Grid) -> Option<Grid> {
    if fine.shape != Shape::Square {
        return None;
    }
    let [p, q] = fine.basis.map(|w| tracks[w].phase.frequency);
    let half = |sign: f64| {
        let sought = [0.5 * (p[0] + sign * q[0]), 0.5 * (p[1] + sign * q[1])];
        let reach = SUM_SHARE * sought[0].hypot(sought[1]);
        (0..tracks.len()).find(|&w| {
            let f = tracks[w].phase.frequency;
            let off = [1.0, -1.0].map(|k| (f[0] - k * sought[0]).hypot(f[1] - k * sought[1]));
            off[0].min(off[1]) < reach
                && !grids.iter().any(|g| g.waves.contains(&w))
                && cosine(unit(tracks[w].colour), fine.colour) >= SAME_COLOUR
        })
    };
    let coarse = right_angled(tracks, half(1.0)?, half(-1.0)?)?;
    let strong = coarse.strength > COARSE_SHARE * fine.strength;
    (coarse.shape == Shape::Square && strong).then_some(coarse)
}

fn is_square(a: &Track, b: &Track) -> bool {
    let ratio = a.magnitude() / b.magnitude();
    ratio.ln().abs() < SQUARE_LENGTH_SHARE
        && off_right_angle_deg(a.phase.frequency, b.phase.frequency) < SQUARE_ANGLE_DEG
}

/// How far two frequency vectors are from a right angle, degrees, 0–90.
pub(super) fn off_right_angle_deg(p: [f64; 2], q: [f64; 2]) -> f64 {
    let cos = (p[0] * q[0] + p[1] * q[1]) / (p[0].hypot(p[1]) * q[0].hypot(q[1]));
    cos.clamp(-1.0, 1.0).asin().to_degrees().abs()
}

/// Whether a screen accepted before is only sums of a coarser one of its colour.
fn is_made_of(tracks: &[Track], fine: &Grid, coarse: &Grid) -> bool {
    tracks[coarse.waves[0]].magnitude() < 0.95 * tracks[fine.waves[0]].magnitude()
        && coarse.strength > COARSE_SHARE * fine.strength
        && cosine(coarse.colour, fine.colour) >= SAME_COLOUR
        && fine.waves.iter().all(|&w| {
            is_sum(
                tracks,
                w,
                coarse.basis[0],
                coarse.basis[1],
                2 * MAX_MULTIPLE,
            )
        })
}

/// Whether wave `w` is m·a + n·b for small whole m, n, in all at most `most`.
fn is_sum(tracks: &[Track], w: usize, a: usize, b: usize, most: i32) -> bool {
    let [f, p, q] = [w, a, b].map(|k| tracks[k].phase.frequency);
    let reach = SUM_SHARE * tracks[w].magnitude().max(tracks[a].magnitude());
    let near = |m: i32, n: i32| {
        let (m, n) = (f64::from(m), f64::from(n));
        (f[0] - m * p[0] - n * q[0]).hypot(f[1] - m * p[1] - n * q[1]) < reach
    };
    (-MAX_MULTIPLE..=MAX_MULTIPLE)
        .any(|m| (-MAX_MULTIPLE..=MAX_MULTIPLE).any(|n| m.abs() + n.abs() <= most && near(m, n)))
}

/// Whether wave `w` is a multiple of half vectors: engines that round their cells to device
/// pixels let every second dot differ.
fn is_half_sum(tracks: &[Track], w: usize, a: usize, b: usize) -> bool {
    let [f, p, q] = [w, a, b].map(|k| tracks[k].phase.frequency);
    let reach = SUM_SHARE * tracks[w].magnitude().max(tracks[a].magnitude());
    (-6..=6).any(|m| {
        (-6..=6).any(|n| {
            let (m, n) = (0.5 * f64::from(m), 0.5 * f64::from(n));
            (f[0] - m * p[0] - n * q[0]).hypot(f[1] - m * p[1] - n * q[1]) < reach
        })
    })
}

/// Whether a wave is a sum of one vector of each of two screens, up to third order.
fn is_cross_sum(tracks: &[Track], w: usize, a: &Grid, b: &Grid) -> bool {
    a.waves
        .iter()
        .any(|&p| b.waves.iter().any(|&q| is_sum(tracks, w, p, q, 3)))
}

/// Whether screens already found account for a wave.
fn explained(tracks: &[Track], w: usize, known: &[Grid]) -> bool {
    let mine = unit(tracks[w].colour);
    let strength = tracks[w].strength();
    let alone = known.iter().any(|g| {
        let [a, b] = g.basis;
        let coarser = tracks[w].magnitude() < 0.95 * tracks[a].magnitude();
        let faint = strength < COARSE_SHARE * g.strength;
        g.waves.contains(&w)
            || (cosine(g.colour, mine) >= SAME_COLOUR
                && (is_sum(tracks, w, a, b, 2 * MAX_MULTIPLE) && !coarser
                    || faint && is_half_sum(tracks, w, a, b)))
    });
    alone
        || known.iter().enumerate().any(|(i, a)| {
            known[i + 1..].iter().any(|b| {
                strength < MOIRE_SHARE * a.strength.min(b.strength) && is_cross_sum(tracks, w, a, b)
            })
        })
}

/// The strongest screen that is not square among the waves not yet accounted for: a pair of one
/// colour, or a lone wave.
fn next_other(tracks: &[Track], grids: &[Grid]) -> Option<Grid> {
    let strongest = grids.iter().map(|g| g.strength).fold(0.0, f64::max);
    let mut free: Vec<usize> = (0..tracks.len())
        .filter(|&w| {
            tracks[w].coherence >= MIN_LONE_COHERENCE
                && tracks[w].strength() > LINE_SHARE * strongest
                && !explained(tracks, w, grids)
        })
        .collect();
    free.sort_by(|&a, &b| tracks[b].strength().total_cmp(&tracks[a].strength()));
    for (k, &first) in free.iter().enumerate() {
        let mate = free[k + 1..].iter().copied().find(|&w| {
            let ratio = tracks[w].strength() / tracks[first].strength();
            ratio >= LINE_SHARE
                && cosine(unit(tracks[w].colour), unit(tracks[first].colour)) >= SAME_COLOUR
                && !collinear(&tracks[first], &tracks[w])
        });
        if let Some(second) = mate {
            let shape = shape_of(&tracks[first], &tracks[second]);
            return Some(grid(tracks, shape, vec![first, second]));
        }
        // Beside a screen of dots a lone wave is a residue of it, not a second ink's lines.
        let beside_dots = grids.iter().any(|g| g.shape == Shape::Square);
        if !beside_dots && tracks[first].coherence >= MIN_LINE_COHERENCE {
            return Some(grid(tracks, Shape::Line, vec![first]));
        }
    }
    None
}

/// The shortest vectors of a screen (Gauss's reduction): a strong sum of the basis vectors may
/// have been found before the basis vector itself. Shorter first, with the standard error of the
/// frequency.
#[must_use]
pub fn shortest(tracks: &[Track], grid: &Grid) -> Vec<(Phase, f64)> {
    let mut waves: Vec<(Phase, f64)> = grid
        .waves
        .iter()
        .map(|&w| (tracks[w].phase.clone(), tracks[w].frequency_se))
        .collect();
    if grid.shape == Shape::Square || waves.len() < 2 {
        return waves;
    }
    for _ in 0..8 {
        waves.sort_by(|a, b| length(&a.0).total_cmp(&length(&b.0)));
        let (p, q) = (waves[0].0.frequency, waves[1].0.frequency);
        let whole = ((p[0] * q[0] + p[1] * q[1]) / (p[0] * p[0] + p[1] * p[1])).round();
        // A shortening within the error of the vectors is none.
        let mended = waves[1].0.less(whole, &waves[0].0);
        if whole == 0.0 || length(&mended) > 0.999 * length(&waves[1].0) {
            break;
        }
        waves[1].1 = waves[1].1.hypot(whole * waves[0].1);
        waves[1].0 = mended;
    }
    waves
}

fn length(phase: &Phase) -> f64 {
    phase.frequency[0].hypot(phase.frequency[1])
}

fn shape_of(a: &Track, b: &Track) -> Shape {
    if is_square(a, b) {
        Shape::Square
    } else if off_right_angle_deg(a.phase.frequency, b.phase.frequency) < SQUARE_ANGLE_DEG {
        Shape::Rectangular
    } else {
        Shape::Oblique
    }
}

fn collinear(a: &Track, b: &Track) -> bool {
    off_right_angle_deg(a.phase.frequency, b.phase.frequency) > 90.0 - 3.0
}
