//! Scatter of the colours of marks and of the ground between them.

use super::axis::{Axis, at, below, beside};
use super::Chart;
use crate::ink::Inked;
use crate::measure::segment::Segments;
use crate::report::picture::encoded;
use crate::report::words::standing;
use maud::{Markup, html};

const TITLE: &str = "Where the colour lies";
/// Points of each kind at most; more only hide each other.
const MOST_POINTS: usize = 500;
/// Patches of ground across the longer side of the picture.
const PATCHES: usize = 24;
/// Fewest ground pixels in a patch for a mean that noise does not colour.
const FEWEST_GROUND_PX: usize = 60;

/// Mean density per channel, over paper.
type Density = [f64; 3];

/// The scatter; missing for a photograph without colour.
#[must_use]
pub fn draw(inked: &Inked, segments: &Segments) -> Chart {
    let missing = |why: &str| Chart::Missing {
        title: TITLE,
        why: why.into(),
    };
    if inked.grey {
        return missing("the photograph holds no colour; take it in colour");
    }
    let marks: Vec<Density> = thinned(segments.marks.iter().map(|m| m.density).collect());
    let ground = ground_patches(inked, segments);
    if marks.is_empty() && ground.is_empty() {
        return missing("neither marks nor ground were found");
    }
    Chart::Drawn {
        title: TITLE,
        aid: standing::LAYERING_AID,
        svg: scatter(&marks, &ground, inked.paper.linear.map(f64::from)),
    }
}

fn thinned(points: Vec<Density>) -> Vec<Density> {
    let stride = points.len().div_ceil(MOST_POINTS).max(1);
    points.into_iter().step_by(stride).collect()
}

/// Mean density of the ground in patches over the picture.
fn ground_patches(inked: &Inked, segments: &Segments) -> Vec<Density> {
    let (height, width) = inked.usable.dim();
    if segments.labels.dim() != (height, width) {
        return Vec::new();
    }
    let side = (height.max(width) / PATCHES).max(8);
    let mut patches = Vec::new();
    for top in (0..height).step_by(side) {
        for left in (0..width).step_by(side) {
            patches.extend(ground_in(inked, segments, left, top, side));
        }
    }
    thinned(patches)
}

fn ground_in(
    inked: &Inked,
    segments: &Segments,
    left: usize,
    top: usize,
    side: usize,
) -> Option<Density> {
    let (height, width) = inked.usable.dim();
    let (mut sum, mut count) = ([0.0; 3], 0);
    for y in top..(top + side).min(height) {
        for x in left..(left + side).min(width) {
            if inked.usable[[y, x]] && segments.labels[[y, x]] == 0 {
                count += 1;
                for (total, plane) in sum.iter_mut().zip(&inked.density) {
                    *total += f64::from(plane[[y, x]]);
                }
            }
        }
    }
    (count >= FEWEST_GROUND_PX).then(|| sum.map(|s| s / count as f64))
}

/// Difference of the largest and smallest channel: 0 for a neutral grey.
fn colourfulness(density: &Density) -> f64 {
    let most = density.iter().copied().fold(f64::MIN, f64::max);
    let least = density.iter().copied().fold(f64::MAX, f64::min);
    most - least
}

fn darkness(density: &Density) -> f64 {
    density.iter().sum::<f64>() / 3.0
}

fn seen(density: &Density, paper: [f64; 3]) -> String {
    let [r, g, b] =
        [0, 1, 2].map(|c| encoded((paper[c] * 10f64.powf(-density[c])) as f32));
    format!("#{r:02x}{g:02x}{b:02x}")
}

fn scatter(marks: &[Density], ground: &[Density], paper: [f64; 3]) -> Markup {
    let all = || marks.iter().chain(ground);
    let darkest = all().map(darkness).fold(0.4, f64::max);
    let strongest = all().map(colourfulness).fold(0.4, f64::max);
    let across = Axis::new(0.0, darkest * 1.03, 64.0, 540.0);
    let up = Axis::new(0.0, strongest * 1.05, 260.0, 24.0);
    html! {
        svg viewBox="0 0 560 304" role="img" aria-label=(TITLE) {
            g class="ground" {
                @for point in ground {
                    circle cx=(at(across.place(darkness(point)))) cy=(at(up.place(colourfulness(point))))
                        r="4" stroke=(seen(point, paper)) {}
                }
            }
            g class="marks" {
                @for point in marks {
                    circle cx=(at(across.place(darkness(point)))) cy=(at(up.place(colourfulness(point))))
                        r="2.6" fill=(seen(point, paper)) {}
                }
            }
            g class="note" {
                circle class="key-mark" cx="392" cy="14" r="3" {}
                text x="400" y="18" { "mark" }
                circle class="key-ground" cx="452" cy="14" r="4" {}
                text x="461" y="18" { "ground" }
            }
            (below(&across, 260.0, "darkness over the paper (optical density)"))
            (beside(&up, 64.0, "colourfulness (density)"))
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_neutral_ink_has_no_colourfulness() {
        assert!(colourfulness(&[1.2, 1.2, 1.2]).abs() < 1e-12);
        assert!((colourfulness(&[0.1, 0.8, 0.9]) - 0.8).abs() < 1e-12);
        assert_eq!(seen(&[0.0; 3], [1.0; 3]), "#ffffff");
    }

    #[test]
    fn thinning_keeps_the_order_and_the_bound() {
        let points = (0..1203).map(|i| [f64::from(i); 3]).collect();
        let kept = thinned(points);
        assert!(kept.len() <= MOST_POINTS && kept.len() > MOST_POINTS / 2);
        assert!(kept.windows(2).all(|w| w[0][0] < w[1][0]));
    }
}
