//! Point statistics against published patterns and exact values.
//!
//! Values marked "spatstat" were computed from the data of `spatstat.data` with the formulae of
//! `spatstat.explore`; the coordinates and their sources are in `fixtures/point_patterns/`.

use approx::assert_relative_eq;
use inktell::measure::points::pairs::{EdgeCorrection, PairCorrelation, ripley_k, weight};
use inktell::measure::points::{ClarkEvans, Point, Region};
use rand::{RngExt, SeedableRng};

const UNIT: Region = Region::Rectangle {
    low: [0.0, 0.0],
    high: [1.0, 1.0],
};

fn pattern(name: &str) -> Vec<Point> {
    let file = concat!(
        env!("CARGO_MANIFEST_DIR"),
        "/fixtures/point_patterns/patterns.csv"
    );
    let mut reader = csv::Reader::from_path(file).expect("the fixture opens");
    reader
        .records()
        .map(|record| record.expect("a row"))
        .filter(|row| &row[0] == name)
        .map(|row| [row[1].parse().unwrap(), row[2].parse().unwrap()])
        .collect()
}

#[test]
fn published_patterns_have_their_clark_evans_indices() {
    // name, n, plain index, index with Donnelly's correction (spatstat)
    let known = [
        ("cells", 42, 1.67168, 1.560_426),
        ("redwood", 62, 0.618_65, 0.584_991),
        ("japanesepines", 65, 1.064_002, 1.007_507),
    ];
    for (name, n, plain, corrected) in known {
        let points = pattern(name);
        assert_eq!(points.len(), n);
        let index = ClarkEvans::of(&points, UNIT.area(), UNIT.perimeter()).unwrap();
        assert_relative_eq!(index.plain, plain, epsilon = 1e-5);
        assert_relative_eq!(index.corrected, corrected, epsilon = 1e-5);
    }
}

#[test]
fn the_kinds_of_pattern_are_told_apart() {
    let z = |name| {
        ClarkEvans::of(&pattern(name), 1.0, 4.0)
            .map(|index| index.z)
            .unwrap()
    };
    assert!(z("cells") > 3.0);
    assert!(z("redwood") < -3.0);
    assert!(z("japanesepines").abs() < 1.96);
    let g = |name| PairCorrelation::of(&pattern(name), &UNIT);
    // Cells keep their distance; redwoods crowd.
    assert!(g("cells").reaches(0.5).unwrap() > 0.08);
    assert!(g("redwood").g[6] > 2.0);
}

#[test]
fn lattices_reach_their_indices() {
    let square: Vec<Point> = (0..120 * 80)
        .map(|i| [f64::from(i % 120), f64::from(i / 120)])
        .collect();
    let index = ClarkEvans::of(&square, square.len() as f64, 0.0).unwrap();
    assert_relative_eq!(index.plain, 2.0, epsilon = 1e-6);
    let high = 0.75_f64.sqrt();
    let hexagonal: Vec<Point> = (0..120 * 80)
        .map(|i| {
            let (x, y) = (f64::from(i % 120), f64::from(i / 120));
            [x + 0.5 * (y % 2.0), y * high]
        })
        .collect();
    let index = ClarkEvans::of(&hexagonal, hexagonal.len() as f64 * high, 0.0).unwrap();
    // 2^½ · 3^−¼ · 2 / … = 2.14914 (Clark & Evans 1954).
    assert_relative_eq!(index.plain, 2.149_139_9, epsilon = 1e-6);
}

#[test]
fn edge_weights_have_their_exact_values() {
    let isotropic = |from, to: Point, d| weight(&UNIT, from, to, d, EdgeCorrection::Isotropic);
    // Half a radius from a side a third of the circle is cut off; on the side, half.
    assert_relative_eq!(isotropic([0.1, 0.5], [0.3, 0.5], 0.2), 1.5, epsilon = 1e-6);
    assert_relative_eq!(isotropic([0.0, 0.5], [0.2, 0.5], 0.2), 2.0, epsilon = 1e-6);
    let translated = weight(
        &UNIT,
        [0.3, 0.3],
        [0.4, 0.5],
        0.1_f64.hypot(0.2),
        EdgeCorrection::Translation,
    );
    assert_relative_eq!(translated, 1.388_888_9, epsilon = 1e-6);
}

#[test]
fn random_points_have_k_of_pi_r_squared_and_g_of_one() {
    let region = Region::Rectangle {
        low: [-2.0, 1.0],
        high: [1.0, 2.5],
    };
    let mut rng = rand_chacha::ChaCha8Rng::seed_from_u64(11);
    let points: Vec<Point> = (0..4000)
        .map(|_| {
            [
                rng.random_range(-2.0..1.0_f64),
                rng.random_range(1.0..2.5_f64),
            ]
        })
        .collect();
    for correction in [EdgeCorrection::Translation, EdgeCorrection::Isotropic] {
        for (r, k) in
            [0.05, 0.1, 0.2]
                .iter()
                .zip(ripley_k(&points, &region, &[0.05, 0.1, 0.2], correction))
        {
            // Standard error of K is about √(2 K A) / n (Ripley 1988): 0.6 % at r = 0.2.
            assert_relative_eq!(k, std::f64::consts::PI * r * r, max_relative = 0.03);
        }
    }
    let plain = ripley_k(&points, &region, &[0.2], EdgeCorrection::None)[0];
    assert!(plain < 0.95 * std::f64::consts::PI * 0.04);
    let g = PairCorrelation::of(&points, &region);
    let far = &g.g[20..];
    let mean = far.iter().sum::<f64>() / far.len() as f64;
    assert_relative_eq!(mean, 1.0, max_relative = 0.02);
}
