use super::*;
use crate::measure::film::drawn::{BLACK, Dot, dots, inked, light, subsample_chroma};

const SIZE: [usize; 2] = [720, 560];
const BARE: [f64; 3] = [1.0; 3];
/// Washes: what they let through.
const ROSE: [f64; 3] = [0.85, 0.45, 0.55];
const GREEN: [f64; 3] = [0.50, 0.70, 0.40];
/// Inks that a plate was inked with.
const RED_INK: [f64; 3] = [0.45, 0.08, 0.10];
const GREEN_INK: [f64; 3] = [0.10, 0.30, 0.08];

fn marks(seed: u64, ink: impl Fn(f64) -> [f64; 3]) -> Vec<Dot> {
    dots(SIZE, seed, |x, y| (y > 120.0).then(|| ink(x)))
}

/// Two washes side by side over the marks, the first thinning to the right.
fn washed(x: f64, y: f64) -> [f64; 3] {
    match (x, y) {
        (x, y) if y < 200.0 || x > 640.0 => BARE,
        (x, _) if x < 330.0 => ROSE.map(|t: f64| t.powf(1.2 - x / 400.0)),
        _ => GREEN,
    }
}

fn in_two_inks(x: f64) -> [f64; 3] {
    if x < 360.0 { RED_INK } else { GREEN_INK }
}

fn value(figure: &Measured) -> f64 {
    figure.value().unwrap_or_else(|| panic!("{figure:?}"))
}

fn layering_of(picture: &[crate::plane::Plane; 3]) -> Layering {
    let inked = inked(picture, 0.0);
    on_ground(&inked, &ground::map(&inked))
}

#[test]
fn washes_over_black_leave_the_ink_neutral_and_colour_the_ground() {
    let found = layering_of(&light(SIZE, &marks(1, |_| BLACK), 1, washed));
    assert!(
        value(&found.ink_hue) < 0.06 && value(&found.ink_hue_spread) < 0.08,
        "{found:?}"
    );
    assert!(value(&found.ink_over_ground) < -0.3, "{found:?}");
    // The two washes cover 640 × 360 of 720 × 560 px, save where the first has thinned out.
    let drawn = 640.0 * 360.0 / (720.0 * 560.0);
    assert!(
        (value(&found.coloured_share) - drawn).abs() < 0.1,
        "{found:?}"
    );
    assert!(value(&found.wash_share) > 0.1, "{found:?}");
    assert!(!found.points.is_empty() && found.points.len() <= MAX_POINTS);
}

#[test]
fn a_plate_inked_in_colours_varies_in_its_ink_and_leaves_the_gaps_bare() {
    let found = layering_of(&light(SIZE, &marks(2, in_two_inks), 1, |_, _| BARE));
    assert!(value(&found.ink_hue_spread) > 0.25, "{found:?}");
    assert!(value(&found.ink_over_ground) > 0.5, "{found:?}");
    assert!(value(&found.coloured_share) < 0.05, "{found:?}");
}

#[test]
fn one_black_ink_on_bare_paper_varies_nowhere() {
    let found = layering_of(&light(SIZE, &marks(3, |_| BLACK), 1, |_, _| BARE));
    assert!(
        value(&found.ink_hue) < 0.03 && value(&found.ink_hue_spread) < 0.04,
        "{found:?}"
    );
    assert!(
        value(&found.coloured_share) < 0.01 && value(&found.wash_share) < 0.01,
        "{found:?}"
    );
}

/// Blur and chroma subsampling smear the ground's colour over marks of 5–8 px; the ink's hue must not follow.
#[test]
fn blur_and_chroma_subsampling_do_not_colour_black_marks() {
    let sharp = light(SIZE, &marks(4, |_| BLACK), 0, washed);
    let soft = subsample_chroma(&light(SIZE, &marks(4, |_| BLACK), 3, washed));
    let (sharp, soft) = (layering_of(&sharp), layering_of(&soft));
    assert!(
        (value(&sharp.ink_hue) - value(&soft.ink_hue)).abs() < 0.04,
        "{sharp:?} {soft:?}"
    );
    assert!(value(&soft.ink_hue_spread) < 0.12, "{soft:?}");
    let coloured = subsample_chroma(&light(SIZE, &marks(5, in_two_inks), 3, |_, _| BARE));
    assert!(value(&layering_of(&coloured).ink_hue_spread) > 0.25);
}

/// Foxing: brown spots without edges are paler than a wash and cover little.
#[test]
fn foxing_is_no_wash() {
    let foxed = |x: f64, y: f64| {
        let spots = [[90.0, 300.0], [400.0, 180.0], [600.0, 450.0]];
        let depth: f64 = spots
            .iter()
            .map(|s| (-((x - s[0]).powi(2) + (y - s[1]).powi(2)) / 1800.0).exp())
            .sum();
        [0.95f64, 0.85, 0.65].map(|t| t.powf(0.5 * depth))
    };
    let found = layering_of(&light(SIZE, &marks(6, |_| BLACK), 1, foxed));
    assert!(
        value(&found.wash_share) < 0.05 && value(&found.coloured_share) < 0.06,
        "{found:?}"
    );
}

#[test]
fn odd_pictures_do_not_stop_it() {
    for size in [[1, 1], [1, 900], [900, 1], [23, 31]] {
        for level in [0.0, 1.0, 40.0] {
            let mut drawn = inked(&light(size, &[], 0, |_, _| [level; 3]), 0.0);
            let _ = on_ground(&drawn, &ground::map(&drawn));
            drawn.usable.fill(false);
            let found = on_ground(&drawn, &ground::map(&drawn));
            assert!(found.points.is_empty());
        }
    }
}
