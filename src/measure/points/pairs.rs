//! Ripley's K and the pair correlation function: how many points lie at each distance from a
//! point, against random ones.

use super::{Neighbours, Point, Region};

/// How pairs near the border are made up for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum EdgeCorrection {
    /// None: K comes out too low.
    None,
    /// By the overlap of the region with itself moved (Ohser & Stoyan 1981); any region.
    Translation,
    /// By the share of the circle that lies inside (Ripley 1977); rectangles only, elsewhere the
    /// translation correction is used.
    Isotropic,
}

/// Ripley's K at each of `radii`: K(r) = A / (n (n − 1)) · Σ w_ij over pairs nearer than r;
/// π r² for random points. Empty for fewer than two points.
#[must_use]
pub fn ripley_k(
    points: &[Point],
    region: &Region,
    radii: &[f64],
    correction: EdgeCorrection,
) -> Vec<f64> {
    let n = points.len();
    if n < 2 {
        return Vec::new();
    }
    let farthest = radii.iter().copied().fold(0.0, f64::max);
    let mut sums = vec![0.0; radii.len()];
    let neighbours = Neighbours::of(points);
    for (i, &from) in points.iter().enumerate() {
        neighbours.within(from, farthest, |j, distance| {
            if i != j {
                let weight = weight(region, from, points[j], distance, correction);
                for (sum, &radius) in sums.iter_mut().zip(radii) {
                    if distance <= radius {
                        *sum += weight;
                    }
                }
            }
        });
    }
    let scale = region.area() / (n as f64 * (n as f64 - 1.0));
    sums.iter().map(|sum| sum * scale).collect()
}

/// How many pairs a pair stands for, ≥ 1.
#[must_use]
pub fn weight(
    region: &Region,
    from: Point,
    to: Point,
    distance: f64,
    correction: EdgeCorrection,
) -> f64 {
    let translation = || {
        let overlap = region.overlap(to[0] - from[0], to[1] - from[1]);
        let area = region.area();
        // A vanishing overlap would let one pair outweigh all others.
        area / overlap.max(1e-3 * area)
    };
    match correction {
        EdgeCorrection::None => 1.0,
        EdgeCorrection::Translation => translation(),
        EdgeCorrection::Isotropic => region
            .arc_inside(from, distance)
            .map_or_else(translation, |share| 1.0 / share.max(1e-3)),
    }
}

/// Pair correlation function on a grid of distances.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct PairCorrelation {
    /// Distances, in the unit of the points.
    pub r: Vec<f64>,
    /// g(r): 1 random, 0 where no pair lies so far apart, above 1 where more than random do.
    pub g: Vec<f64>,
}

/// Steps per mean spacing (1/√density) of the grid of distances.
const STEPS_PER_SPACING: f64 = 20.0;
/// Farthest distance, in mean spacings.
const FARTHEST_SPACINGS: f64 = 3.0;
/// Half-width of the Epanechnikov kernel in mean spacings. Source: Stoyan & Stoyan, Fractals,
/// Random Shapes and Point Fields (1994), as in `spatstat` `bw.stoyan`.
pub const STOYAN: f64 = 0.15;
/// Most points from which distances are taken; more add nothing to a curve this smooth.
const MAX_CENTRES: usize = 8000;

impl PairCorrelation {
    /// g(r) with the translation correction; empty for fewer than two points or no area.
    #[must_use]
    pub fn of(points: &[Point], region: &Region) -> Self {
        let (n, area) = (points.len(), region.area());
        if n < 2 || area <= 0.0 {
            return Self::default();
        }
        let spacing = (area / n as f64).sqrt();
        let step = spacing / STEPS_PER_SPACING;
        let bins = (FARTHEST_SPACINGS * STEPS_PER_SPACING) as usize;
        let half_width = STOYAN * spacing;
        let farthest = step * bins as f64 + half_width;
        let neighbours = Neighbours::of(points);
        let stride = n.div_ceil(MAX_CENTRES);
        let mut sums = vec![0.0; bins];
        let mut centres = 0_usize;
        for i in (0..n).step_by(stride) {
            centres += 1;
            neighbours.within(points[i], farthest, |j, distance| {
                if i != j {
                    let to = points[j];
                    let w = weight(region, points[i], to, distance, EdgeCorrection::Translation);
                    spread(&mut sums, distance, w, step, half_width);
                }
            });
        }
        let pairs_per_area = centres as f64 * (n as f64 - 1.0) / area;
        let r: Vec<f64> = (0..bins).map(|k| (k as f64 + 0.5) * step).collect();
        let g = r
            .iter()
            .zip(&sums)
            .map(|(r, sum)| sum / (std::f64::consts::TAU * r * pairs_per_area))
            .collect();
        Self { r, g }
    }

    /// Smallest distance at which g reaches `level`; none where it never does.
    #[must_use]
    pub fn reaches(&self, level: f64) -> Option<f64> {
        self.g.iter().position(|&g| g >= level).map(|at| self.r[at])
    }

    /// Highest g and its distance; none when empty.
    #[must_use]
    pub fn peak(&self) -> Option<(f64, f64)> {
        self.r
            .iter()
            .copied()
            .zip(self.g.iter().copied())
            .max_by(|a, b| a.1.total_cmp(&b.1))
    }
}

/// Adds one pair to all distances within the kernel: ¾ (1 − u²) / half-width.
fn spread(sums: &mut [f64], distance: f64, weight: f64, step: f64, half_width: f64) {
    let low = ((distance - half_width) / step - 0.5).ceil().max(0.0) as usize;
    for (k, sum) in sums.iter_mut().enumerate().skip(low) {
        let u = ((k as f64 + 0.5) * step - distance) / half_width;
        if u >= 1.0 {
            break;
        }
        *sum += weight * 0.75 * (1.0 - u * u).max(0.0) / half_width;
    }
}
