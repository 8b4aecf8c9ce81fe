//! Rulings, angles and dot shapes drawn by chance for each kind of press and printer.

use super::PrintInk;
use super::clustered::Screen;
use super::spot::DotShape;
use crate::ink::Ink;
use rand::{Rng, RngExt};

/// Dot shapes of film and digital screens.
fn dot_shape(glass: bool, rng: &mut impl Rng) -> DotShape {
    if glass && rng.random_bool(0.6) {
        return DotShape::Cosine;
    }
    match rng.random_range(0..7) {
        0 => DotShape::Round,
        1 | 2 => DotShape::Euclidean,
        3 | 4 => DotShape::Elliptical {
            ratio: rng.random_range(0.5..0.95),
        },
        5 => DotShape::Diamond,
        _ => DotShape::Square,
    }
}

/// Film, glass or digital screens for a press; letterpress blocks are coarser.
pub(super) fn offset_screens(
    inks: &[PrintInk],
    letterpress: bool,
    rng: &mut impl Rng,
) -> Vec<Screen> {
    // Range from coarse newspaper blocks to fine art printing (facts §1.1).
    let ruling_lpi = if letterpress {
        [55.0, 65.0, 85.0, 100.0, 120.0, 133.0, 150.0, 175.0][rng.random_range(0..8)]
    } else if rng.random_bool(0.6) {
        [65.0, 85.0, 100.0, 120.0, 133.0, 150.0, 175.0, 200.0][rng.random_range(0..8)]
    } else {
        rng.random_range(50.0f64.ln()..250.0f64.ln()).exp()
    };
    let shape = dot_shape(letterpress, rng);
    let angles = conventional_angles(inks, rng);
    let common_deg = rng.random_range(-6.0..6.0);
    let finer_yellow = if rng.random_bool(0.4) {
        rng.random_range(1.05..1.35)
    } else {
        1.0
    };
    // Rational tangents of supercells move ruling and angle a little.
    let supercell = (!letterpress && rng.random_bool(0.6))
        .then(|| (rng.random_range(1..12), rng.random_range(47.0..142.0)));
    inks.iter()
        .zip(angles)
        .map(|(ink, angle)| {
            let finer = if ink.ink == Ink::Y { finer_yellow } else { 1.0 };
            let ruling = ruling_lpi * finer * rng.random_range(0.997..1.003);
            let mut screen = Screen::square(ruling, angle, shape);
            if let Some((cells, device)) = supercell {
                screen = screen.snapped(cells, device);
            }
            screen = turned(screen, common_deg);
            screen.phase = [rng.random_range(0.0..1.0), rng.random_range(0.0..1.0)];
            screen
        })
        .collect()
}

fn turned(mut screen: Screen, degrees: f64) -> Screen {
    let (sin, cos) = degrees.to_radians().sin_cos();
    for v in &mut screen.vectors_per_mm {
        *v = [v[0] * cos + v[1] * sin, v[1] * cos - v[0] * sin];
    }
    screen
}

/// Yellow at 0°, the three strong inks 30° apart with black (or the spot's partner) mostly at 45°; some
/// houses exchange the angles or turn them all by 7.5°.
fn conventional_angles(inks: &[PrintInk], rng: &mut impl Rng) -> Vec<f64> {
    let mut strong = [15.0, 75.0, 45.0];
    if rng.random_bool(0.5) {
        strong.swap(0, 1);
    }
    if rng.random_bool(0.25) {
        strong.rotate_left(1);
    }
    let base = if rng.random_bool(0.2) { 7.5 } else { 0.0 };
    let single = if rng.random_bool(0.75) {
        45.0
    } else {
        rng.random_range(0.0..90.0)
    };
    inks.iter()
        .map(|ink| match (inks.len(), ink.ink) {
            (1, _) => single,
            (_, Ink::C) => strong[0] + base,
            (_, Ink::M | Ink::S) => strong[1] + base,
            (_, Ink::K) => strong[2] + base,
            (_, Ink::Y) => base,
        })
        .collect()
}

/// Cells in whole device pixels, as laser printers repeat them; 300, 600 or 1200 dpi.
pub(super) fn laser_screens(inks: &[PrintInk], rng: &mut impl Rng) -> Vec<Screen> {
    let dpi = [300.0, 600.0, 600.0, 1200.0][rng.random_range(0..4)];
    let line = rng.random_range(0..4) == 0;
    let shape = if line {
        DotShape::Line
    } else {
        dot_shape(false, rng)
    };
    let most_side = if dpi > 900.0 { 9 } else { 6 };
    inks.iter()
        .enumerate()
        .map(|(i, _)| {
            let (a, b) = device_side(most_side, rng);
            let oblique = rng.random_bool(0.4);
            let sides = if oblique {
                [[a, -b], [b - i64::from(rng.random_bool(0.5)), a + 1]]
            } else {
                [[a, -b], [b, a]]
            };
            let mut screen = Screen::of_device_cell(sides, dpi / 25.4, shape);
            screen.phase = [0.13 + 0.21 * i as f64, 0.31 * i as f64 + 0.07];
            screen
        })
        .collect()
}

/// A cell side of at least three device pixels.
fn device_side(most: i64, rng: &mut impl Rng) -> (i64, i64) {
    loop {
        let (a, b) = (rng.random_range(1..=most), rng.random_range(0..=most));
        if a * a + b * b >= 8 {
            return (a, b);
        }
    }
}

/// Clustered cells of an ordered dither, upright or at 45°.
pub(super) fn ordered_screen(rng: &mut impl Rng) -> Screen {
    let dpi = [200.0, 300.0, 400.0, 600.0][rng.random_range(0..4)];
    let n = rng.random_range(3..=8);
    let sides = if rng.random_bool(0.5) {
        [[n, 0], [0, n]]
    } else {
        [[n, -n], [n, n]]
    };
    let sides = if n > 5 { [[n, 0], [0, n]] } else { sides };
    let shape = match rng.random_range(0..4) {
        0 => DotShape::Square,
        1 => DotShape::Diamond,
        2 => DotShape::Round,
        _ => DotShape::Euclidean,
    };
    Screen::of_device_cell(sides, dpi / 25.4, shape)
}
