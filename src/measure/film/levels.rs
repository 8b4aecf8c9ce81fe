//! Levels of the ground: the colours round which its cells gather.
//!
//! A printed tint gives one or two compact levels; washes give many, with gradients between. Cells are
//! compared by the hue of their density above all: the blurred skirts of black marks darken the ground
//! between them, often by more than a tint does, but leave the hue of its density as it is.

use super::ground::GroundMap;
use super::layout::hue_part;
use std::collections::BTreeMap;

/// Weight of darkness against hue. Low for the reason above; not nought, so that a neutral grey tint is
/// parted from bare paper where few marks stand.
const DARKNESS_WEIGHT: f64 = 0.1;
/// Bin of the search for a level, in density; three bins span a level's own scatter.
const BIN: f64 = 0.01;
/// Radius within which a level's centre is refined.
const CORE_RADIUS: f64 = 0.02;
/// Radius within which a cell belongs to a level: some 3 ΔE00 on light paper.
const REACH: f64 = 0.025;
/// Radius cleared round a level before the next is sought.
const CLEARED: f64 = 0.035;
/// Rounds of refining; the centre then moves by less than a tenth of a unit.
const ROUNDS: usize = 5;
/// Most levels sought: more than a hand's count are washes anyway.
const MAX_LEVELS: usize = 8;
/// Smallest share of the seen ground that is a level and not a spot.
const MIN_SHARE: f64 = 0.02;

/// Darkness over the lightest level, density, from which ground may be a solid of ink: tints printed under
/// a drawing are lighter.
const INK_STEP: f64 = 0.3;
/// Hue step of such ground as a share of its darkness under which it is ink and no film. Of 160 lithographs
/// of the training series, plain and tinted by halves, 51 have ground under it; those looked at were solid
/// crayon. The values nearest to it are 0.097 (crayon) and 0.103 (a tint darkened by crayon).
const INK_HUE: f64 = 0.1;
/// How much lighter, in density, and how far in hue ground lies from the lightest level if it is bare paper
/// seen through lights in a film: beyond the scatter of one level.
const LIGHTER: f64 = 0.02;
const LIGHTS_HUE: f64 = 0.03;
/// Fewest cells of such lights; so many alike are no specks.
const LIGHTS_CELLS: usize = 12;

/// One level of the ground.
#[derive(Clone, Debug, PartialEq)]
pub struct Level {
    /// Linear light as photographed, R, G, B, mean over its lighter cells.
    pub linear: [f64; 3],
    /// Density per channel over [`crate::ink::Inked::paper`], mean over its lighter cells.
    pub density: [f64; 3],
    /// Share of the seen ground that belongs to it, 0–1.
    pub share: f64,
    /// Indices of its cells in the order of [`GroundMap::seen`].
    pub members: Vec<usize>,
    /// The lighter half of them, which the skirts of marks darken least.
    pub lighter: Vec<usize>,
}

impl Level {
    /// Mean density of the three channels.
    #[must_use]
    pub fn grey(&self) -> f64 {
        self.density.iter().sum::<f64>() / 3.0
    }
}

type Point = [f64; 3];

/// Finds the levels, the fullest first.
#[must_use]
pub fn find(map: &GroundMap) -> Vec<Level> {
    let densities: Vec<[f64; 3]> = map.seen().map(|(_, c)| c.density.map(f64::from)).collect();
    let linears: Vec<Point> = map
        .seen()
        .map(|(_, c)| c.ln_linear.map(|v| f64::from(v).exp()))
        .collect();
    let points: Vec<Point> = densities.iter().map(|&d| place(d)).collect();
    let enough = (MIN_SHARE * points.len() as f64).max(1.0);
    let cells = Cells {
        densities,
        linears,
        points,
    };
    let all = (0..cells.points.len()).collect();
    let mut levels = cells.gather(all, enough);
    if let Some(lightest) = lightest(&levels).cloned() {
        levels.retain(|l| !is_ink(l, &lightest));
        levels.extend(cells.lights(&lightest));
    }
    levels.sort_by(|a, b| b.share.total_cmp(&a.share));
    levels
}

/// The lightest level: paper, or a film that hides all of it.
#[must_use]
pub fn lightest(levels: &[Level]) -> Option<&Level> {
    levels.iter().min_by(|a, b| a.grey().total_cmp(&b.grey()))
}

/// Length of the step in hue from one density to another.
fn hue_step(from: [f64; 3], to: [f64; 3]) -> f64 {
    let [a, b] = [hue_part(from), hue_part(to)];
    (a[0] - b[0]).hypot(a[1] - b[1])
}

/// Whether a level is a solid of the marks' ink: much darker than the lightest and hardly of another hue.
fn is_ink(level: &Level, lightest: &Level) -> bool {
    let darker = level.grey() - lightest.grey();
    darker > INK_STEP && hue_step(lightest.density, level.density) < INK_HUE * darker
}

/// The seen cells.
struct Cells {
    densities: Vec<[f64; 3]>,
    linears: Vec<Point>,
    points: Vec<Point>,
}

impl Cells {
    /// Levels among some of the cells, each of so many at least, in the order found.
    fn gather(&self, mut left: Vec<usize>, enough: f64) -> Vec<Level> {
        let mut levels = Vec::new();
        while levels.len() < MAX_LEVELS && left.len() as f64 >= enough {
            let centre = settle(fullest_bin(&self.points, &left), &self.points, &left);
            let within = |i: &usize, radius: f64| distance(self.points[*i], centre) < radius;
            let members: Vec<usize> = left.iter().copied().filter(|i| within(i, REACH)).collect();
            let before = left.len();
            left.retain(|i| !within(i, CLEARED));
            if left.len() == before {
                break;
            }
            if members.len() as f64 >= enough {
                levels.push(level(members, &self.densities, &self.linears));
            }
        }
        levels
    }

    /// Bare paper in the lights of a film that hides it elsewhere: too little of the field to be a level by
    /// its share, but lighter than all the levels and of one other hue.
    fn lights(&self, lightest: &Level) -> Option<Level> {
        let lighter = (0..self.points.len())
            .filter(|&i| {
                let density = self.densities[i];
                density.iter().sum::<f64>() / 3.0 < lightest.grey() - LIGHTER
                    && hue_step(lightest.density, density) > LIGHTS_HUE
            })
            .collect();
        let found = self.gather(lighter, LIGHTS_CELLS as f64);
        found.into_iter().max_by_key(|l| l.members.len())
    }
}

/// Where a density lies among the levels: two coordinates of hue and one of darkness, in density.
#[must_use]
pub fn place(density: [f64; 3]) -> [f64; 3] {
    let [u, v] = hue_part(density);
    let grey = density.iter().sum::<f64>() / 3.0;
    [u, v, DARKNESS_WEIGHT * grey]
}

fn distance(a: Point, b: Point) -> f64 {
    a.iter()
        .zip(b)
        .map(|(a, b)| (a - b).powi(2))
        .sum::<f64>()
        .sqrt()
}

/// Centre of the bin with the most points in it and its 26 neighbours; the lowest wins a tie.
fn fullest_bin(points: &[Point], left: &[usize]) -> Point {
    let mut bins: BTreeMap<[i32; 3], usize> = BTreeMap::new();
    for &i in left {
        *bins
            .entry(points[i].map(|v| (v / BIN).floor() as i32))
            .or_default() += 1;
    }
    let around = |bin: &[i32; 3]| -> usize {
        (0..27)
            .filter_map(|k| {
                bins.get(&[
                    bin[0] + k / 9 - 1,
                    bin[1] + k / 3 % 3 - 1,
                    bin[2] + k % 3 - 1,
                ])
            })
            .sum()
    };
    let mut best = ([0; 3], 0);
    for bin in bins.keys() {
        let count = around(bin);
        if count > best.1 {
            best = (*bin, count);
        }
    }
    best.0.map(|b| (f64::from(b) + 0.5) * BIN)
}

/// Moves a centre to the mean of the points about it, a few times.
fn settle(start: Point, points: &[Point], left: &[usize]) -> Point {
    let mut centre = start;
    for _ in 0..ROUNDS {
        let near: Vec<Point> = left
            .iter()
            .map(|&i| points[i])
            .filter(|&p| distance(p, centre) < CORE_RADIUS)
            .collect();
        if near.is_empty() {
            break;
        }
        centre = mean(near.into_iter());
    }
    centre
}

fn level(members: Vec<usize>, densities: &[Point], linears: &[Point]) -> Level {
    let share = members.len() as f64 / densities.len() as f64;
    let grey = |i: &usize| densities[*i].iter().sum::<f64>();
    let mut lighter = members.clone();
    lighter.sort_by(|a, b| grey(a).total_cmp(&grey(b)));
    lighter.truncate(members.len().div_ceil(2));
    Level {
        density: mean(lighter.iter().map(|&i| densities[i])),
        linear: mean(lighter.iter().map(|&i| linears[i])),
        share,
        members,
        lighter,
    }
}

fn mean(points: impl Iterator<Item = Point>) -> Point {
    let (mut sum, mut n) = ([0.0; 3], 0.0f64);
    for p in points {
        for (total, v) in sum.iter_mut().zip(p) {
            *total += v;
        }
        n += 1.0;
    }
    sum.map(|s| s / n.max(1.0))
}

/// Position of the seen cells in the order of [`GroundMap::seen`], for use with [`Level::members`].
#[must_use]
pub fn positions(map: &GroundMap) -> Vec<[usize; 2]> {
    map.seen().map(|(at, _)| at).collect()
}
