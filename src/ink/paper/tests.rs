use super::*;
use crate::ink::density;
use ndarray::Array2;
use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;

/// Paper of known colour under a slope and a vignette, with 35 % of the sheet under marks and
/// a band of tint over two thirds of it.
fn drawn(seed: u64, tinted: bool) -> (Rgb, Mask, [f64; 3]) {
    let (width, height) = (417, 303);
    let mut rng = ChaCha8Rng::seed_from_u64(seed);
    let paper = [0.81, 0.74, 0.62];
    let dots: Vec<(f64, f64)> = (0..900)
        .map(|_| {
            (
                rng.random_range(0.0..width as f64),
                rng.random_range(0.0..height as f64),
            )
        })
        .collect();
    let mut ink = Array2::<f64>::zeros((height, width));
    for (cx, cy) in dots {
        for y in (cy as usize).saturating_sub(4)..(cy as usize + 4).min(height) {
            for x in (cx as usize).saturating_sub(4)..(cx as usize + 4).min(width) {
                if (x as f64 - cx).hypot(y as f64 - cy) < 4.0 {
                    ink[[y, x]] = 1.0;
                }
            }
        }
    }
    let linear = [0, 1, 2].map(|c| {
        let mut noise = ChaCha8Rng::seed_from_u64(seed + 10 + c as u64);
        Array2::from_shape_fn((height, width), |(y, x)| {
            let t = terms(x as f64, y as f64, width, height);
            let light = (0.08 * t[1] - 0.05 * t[2] - 0.06 * (t[3] + t[5])).exp();
            let tint = if tinted && x > width / 3 {
                [0.9, 0.82, 0.6][c]
            } else {
                1.0
            };
            let black = 1.0 - 0.93 * ink[[y, x]];
            (paper[c] * light * tint * black + noise.random_range(-0.012..0.012)) as f32
        })
    });
    (linear, Array2::from_elem((height, width), true), paper)
}

#[test]
fn paper_colour_is_found_under_uneven_light_marks_and_tint() {
    for (seed, tinted) in [(1, false), (2, true), (3, false), (4, true)] {
        let (linear, usable, paper) = drawn(seed, tinted);
        let ground = find(&linear, &usable);
        for (c, (found, drawn)) in ground.paper.linear.iter().zip(paper).enumerate() {
            let ratio = found / drawn;
            // 3 % in light is 0.013 in density, under the fibre noise of real paper.
            assert!(
                (ratio - 1.0).abs() < 0.03,
                "seed {seed} tint {tinted} channel {c}: {ratio}"
            );
        }
    }
}

#[test]
fn bare_paper_has_density_zero_all_over_the_field() {
    let (linear, usable, _) = drawn(7, false);
    let ground = find(&linear, &usable);
    let density = density::over_paper(&linear, &ground);
    let (height, width) = usable.dim();
    for (qy, qx) in [(0, 0), (0, 1), (1, 0), (1, 1)] {
        let mut corner: Vec<f32> = density[1]
            .slice(ndarray::s![
                qy * height / 2..qy * height / 2 + height / 2,
                qx * width / 2..qx * width / 2 + width / 2
            ])
            .iter()
            .copied()
            .collect();
        corner.sort_by(f32::total_cmp);
        let bare = corner[corner.len() / 3];
        assert!(bare.abs() < 0.02, "quarter {qx},{qy}: {bare}");
    }
}

#[test]
fn black_and_empty_fields_do_not_panic() {
    let black = [0, 1, 2].map(|_| Array2::<f32>::zeros((3, 1)));
    let none = Array2::from_elem((3, 1), false);
    assert_eq!(find(&black, &none).paper.linear, [1.0; 3]);
    let all = Array2::from_elem((3, 1), true);
    assert!(find(&black, &all).paper.lab[0].is_finite());
}
