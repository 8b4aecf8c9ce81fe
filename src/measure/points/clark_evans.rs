//! Clark–Evans index: mean distance to the nearest neighbour over that of random points.

use super::{Neighbours, Point};
use statrs::function::gamma::ln_gamma;

/// Clark–Evans index of a pattern.
///
/// Sources: Clark & Evans, Ecology 35 (1954) 445–453; edge correction: Donnelly, in Simulation
/// Methods in Archaeology (1978), constants as in `spatstat.explore` `clarkevans.R`; his variance
/// from memory.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ClarkEvans {
    /// Number of points.
    pub n: usize,
    /// Mean distance to the nearest neighbour, in the unit of the points.
    pub mean_distance: f64,
    /// Index without edge correction: 1 random, 2 square lattice, 2.149 hexagonal lattice.
    pub plain: f64,
    /// Index with Donnelly's correction for points whose nearest neighbour lies outside.
    pub corrected: f64,
    /// Standard error of `corrected` were the points random.
    pub standard_error: f64,
    /// How many standard errors `corrected` lies from 1.
    pub z: f64,
}

impl ClarkEvans {
    /// Index of `points` in a region of this area and perimeter (in the points' unit); none for
    /// fewer than two points or no area.
    #[must_use]
    pub fn of(points: &[Point], area: f64, perimeter: f64) -> Option<Self> {
        if points.len() < 2 || area <= 0.0 {
            return None;
        }
        let neighbours = Neighbours::of(points);
        let total: f64 = (0..points.len())
            .filter_map(|i| neighbours.nearest(i, 1).first().map(|n| n.1))
            .sum();
        Some(Self::from_mean(
            points.len(),
            total / points.len() as f64,
            area,
            perimeter,
        ))
    }

    /// Index from a mean nearest-neighbour distance already known; a `perimeter` of 0 means no
    /// edge correction.
    #[must_use]
    pub fn from_mean(n: usize, mean_distance: f64, area: f64, perimeter: f64) -> Self {
        let count = n as f64;
        let random = 0.5 * (area / count).sqrt();
        let with_edge = random + (0.0514 + 0.0412 / count.sqrt()) * perimeter / count;
        let error = if perimeter > 0.0 {
            (0.0703 * area / (count * count) + 0.037 * perimeter * (area / count.powi(5)).sqrt())
                .sqrt()
        } else {
            0.261_361_6 * area.sqrt() / count
        };
        Self {
            n,
            mean_distance,
            plain: mean_distance / random,
            corrected: mean_distance / with_edge,
            standard_error: error / with_edge,
            z: (mean_distance - with_edge) / error,
        }
    }
}

/// Evenness of spacing that a changing density of points does not disturb: distance to the
/// nearest neighbour over the distance to the k-th, against the same ratio for random points.
///
/// Given the distance r_k to the k-th neighbour of a random point, the nearer k − 1 lie at random
/// in that disc, so E(r_1 / r_k) = ∫₀¹ (1 − t²)^(k−1) dt = √π Γ(k) / (2 Γ(k + ½)).
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct LocalEvenness {
    /// 1 random, below 1 bunched, up to about 2 for lattices.
    pub index: f64,
    /// Its standard error, from halves of the points that share few neighbours.
    pub standard_error: f64,
    /// Points that it rests on: those with neighbours on all sides.
    pub n: usize,
}

impl LocalEvenness {
    /// Rank of the far neighbour: enough for a local density to 25 %, near enough to stay local.
    pub const FAR: usize = 12;
    /// A point counts as having neighbours on all sides when their centre lies within this share
    /// of the far distance; for a point on a straight edge it is 0.42 (half disc).
    const CENTRED: f64 = 0.25;
    /// Fewest points for an index.
    const MIN_POINTS: usize = 20;

    /// Measures it; none where fewer than 20 points have neighbours on all sides.
    #[must_use]
    pub fn of(points: &[Point], neighbours: &Neighbours) -> Option<Self> {
        let ratios: Vec<f64> = (0..points.len())
            .filter_map(|i| ratio_at(points, neighbours, i))
            .collect();
        if ratios.len() < Self::MIN_POINTS {
            return None;
        }
        let n = ratios.len() as f64;
        let mean = ratios.iter().sum::<f64>() / n;
        let variance = ratios.iter().map(|r| (r - mean) * (r - mean)).sum::<f64>() / (n - 1.0);
        // Mutual nearest neighbours share their distance; about two thirds of points have one.
        let independent = n / 1.6;
        Some(Self {
            index: mean / random_ratio(Self::FAR),
            standard_error: (variance / independent).sqrt() / random_ratio(Self::FAR),
            n: ratios.len(),
        })
    }
}

fn ratio_at(points: &[Point], neighbours: &Neighbours, i: usize) -> Option<f64> {
    let near = neighbours.nearest(i, LocalEvenness::FAR);
    let far = near.get(LocalEvenness::FAR - 1)?.1;
    if far <= 0.0 {
        return None;
    }
    let centre = near.iter().fold([0.0; 2], |sum, &(j, _)| {
        [
            sum[0] + points[j][0] - points[i][0],
            sum[1] + points[j][1] - points[i][1],
        ]
    });
    let off = centre[0].hypot(centre[1]) / (near.len() as f64 * far);
    (off <= LocalEvenness::CENTRED).then(|| near[0].1 / far)
}

/// E(r_1 / r_k) of random points.
fn random_ratio(k: usize) -> f64 {
    let k = k as f64;
    0.5 * (0.5 * std::f64::consts::PI.ln() + ln_gamma(k) - ln_gamma(k + 0.5)).exp()
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;
    use rand::{RngExt, SeedableRng};

    #[test]
    fn a_worked_example() {
        // n = 100 on 20 × 20 with a mean distance of 1.6: z = (1.6 − 1) / 0.0522723.
        let index = ClarkEvans::from_mean(100, 1.6, 400.0, 0.0);
        assert_relative_eq!(index.plain, 1.6, epsilon = 1e-12);
        assert_relative_eq!(index.z, 11.47842, epsilon = 1e-3);
    }

    #[test]
    fn too_few_points_have_no_index() {
        assert!(ClarkEvans::of(&[[0.0, 0.0]], 1.0, 4.0).is_none());
        assert!(ClarkEvans::of(&[], 1.0, 4.0).is_none());
        assert!(LocalEvenness::of(&[], &Neighbours::of(&[])).is_none());
    }

    fn random(n: usize, seed: u64, place: impl Fn(f64, f64) -> Point) -> Vec<Point> {
        let mut rng = rand_chacha::ChaCha8Rng::seed_from_u64(seed);
        (0..n)
            .map(|_| place(rng.random::<f64>(), rng.random::<f64>()))
            .collect()
    }

    #[test]
    fn random_points_have_an_index_of_one_at_any_gradient() {
        let flat = random(3000, 1, |u, v| [3.0 * u, v]);
        let steep = random(3000, 2, |u, v| [3.0 * u.sqrt(), v]);
        for points in [flat, steep] {
            let got = LocalEvenness::of(&points, &Neighbours::of(&points)).unwrap();
            assert!(
                (got.index - 1.0).abs() < 3.0 * got.standard_error + 0.01,
                "{got:?}"
            );
            assert!(got.standard_error < 0.03, "{got:?}");
        }
    }

    #[test]
    fn the_standard_error_is_neither_small_nor_large() {
        let z: Vec<f64> = (0..60)
            .filter_map(|seed| {
                let points = random(400, 100 + seed, |u, v| [u, 2.0 * v]);
                let got = LocalEvenness::of(&points, &Neighbours::of(&points))?;
                Some((got.index - 1.0) / got.standard_error)
            })
            .collect();
        let spread = (z.iter().map(|z| z * z).sum::<f64>() / z.len() as f64).sqrt();
        assert!((0.7..1.5).contains(&spread), "{spread}");
    }

    #[test]
    fn lattices_lie_near_two() {
        let points: Vec<Point> = (0..900)
            .map(|i| [f64::from(i % 30), f64::from(i / 30)])
            .collect();
        let got = LocalEvenness::of(&points, &Neighbours::of(&points)).unwrap();
        assert!(got.index > 1.6, "{got:?}");
    }
}
