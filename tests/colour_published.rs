//! Colour and coverage formulas against published values.

use approx::assert_abs_diff_eq;
use inktell::ink::cielab::{chroma, delta_e_2000, from_linear, to_linear};
use inktell::ink::coverage::{demichel, from_densities, from_reflectances};

/// Sharma, Wu & Dalal (2005), table 1: all 34 pairs, to the four decimals printed.
#[test]
fn ciede2000_of_the_34_published_pairs() {
    let table = include_str!("../fixtures/ciede2000_sharma34.csv");
    let mut reader = csv::ReaderBuilder::new()
        .comment(Some(b'#'))
        .from_reader(table.as_bytes());
    let mut pairs = 0;
    for row in reader.records() {
        let row = row.expect("a row of the table");
        let at = |column: usize| row[column].trim().parse::<f64>().expect("a number");
        let (one, other) = ([at(1), at(2), at(3)], [at(4), at(5), at(6)]);
        assert_abs_diff_eq!(delta_e_2000(one, other), at(7), epsilon = 1e-4);
        assert_abs_diff_eq!(delta_e_2000(other, one), at(7), epsilon = 1e-4);
        pairs += 1;
    }
    assert_eq!(pairs, 34);
}

/// CIELAB (D65) of sRGB colours. White, black and the mid grey follow from the definition in
/// CIE 15; primaries as commonly printed for sRGB (Lindbloom's calculator, from memory).
#[test]
fn cielab_of_known_srgb_colours() {
    let code = |v: f64| {
        let v = v / 255.0;
        if v <= 0.04045 {
            v / 12.92
        } else {
            ((v + 0.055) / 1.055).powf(2.4)
        }
    };
    let cases = [
        ([255.0, 255.0, 255.0], [100.0, 0.0, 0.0]),
        ([0.0, 0.0, 0.0], [0.0, 0.0, 0.0]),
        ([119.0, 119.0, 119.0], [50.034, 0.0, 0.0]),
        ([255.0, 0.0, 0.0], [53.24, 80.09, 67.20]),
        ([0.0, 255.0, 0.0], [87.73, -86.18, 83.18]),
        ([0.0, 0.0, 255.0], [32.30, 79.19, -107.86]),
    ];
    for (srgb, lab) in cases {
        let found = from_linear(srgb.map(code));
        for axis in 0..3 {
            assert_abs_diff_eq!(found[axis], lab[axis], epsilon = 0.02);
        }
    }
}

/// From CIELAB to linear light and back is no change, inside and outside what sRGB can show.
#[test]
fn cielab_goes_there_and_back() {
    for lab in [[76.0, -5.1, 11.0], [20.0, 3.0, -40.0], [91.0, 0.4, 12.6]] {
        let back = from_linear(to_linear(lab));
        assert!(
            delta_e_2000(lab, back) < 1e-3,
            "{lab:?} came back as {back:?}"
        );
    }
    assert_abs_diff_eq!(chroma([50.0, 3.0, -4.0]), 5.0);
}

/// Worked examples of Murray–Davies and Yule–Nielsen.
#[test]
fn dot_area_of_worked_examples() {
    let by_density = [(1.0, 0.671937), (1.7, 0.537002), (2.0, 0.505123)];
    for (n, share) in by_density {
        let found = from_densities(0.45, 1.40, n).expect("a share");
        assert_abs_diff_eq!(found, share, epsilon = 1e-5);
    }
    let by_reflectance = [(1.0, 0.466667), (2.0, 0.333333)];
    for (n, share) in by_reflectance {
        let found = from_reflectances(0.80, 0.45, 0.05, n).expect("a share");
        assert_abs_diff_eq!(found, share, epsilon = 1e-5);
    }
}

/// A solid as light as the paper determines no dot area.
#[test]
fn dot_area_needs_a_solid_darker_than_the_paper() {
    assert_eq!(from_densities(0.2, 0.0, 1.0), None);
    assert_eq!(from_reflectances(0.5, 0.5, 0.6, 1.0), None);
    assert_eq!(from_densities(0.2, 1.0, 0.0), None);
}

/// Demichel's shares for dot areas of 0.5, 0.4 and 0.2.
#[test]
fn overprints_of_three_screens() {
    let shares = demichel([0.5, 0.4, 0.2]);
    // Bare, C, M, CM, Y, CY, MY, CMY: the ink's number is its bit.
    let published = [0.24, 0.24, 0.16, 0.16, 0.06, 0.06, 0.04, 0.04];
    for (found, wanted) in shares.iter().zip(published) {
        assert_abs_diff_eq!(*found, wanted, epsilon = 1e-9);
    }
    assert_abs_diff_eq!(shares.iter().sum::<f64>(), 1.0, epsilon = 1e-12);
}
