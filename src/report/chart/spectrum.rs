//! Spacings and directions of what repeats, as a picture with its peaks named.

use super::Chart;
use super::axis::{Axis, at, below, beside};
use super::transform::{self, SIDE, StandingOut};
use crate::ink::Inked;
use crate::measure::lattice::Lattice;
use crate::measure::lines::Lines;
use crate::report::words::standing;
use crate::report::{figures, picture, words};
use maud::{Markup, html};

const TITLE: &str = "What repeats, and in which direction";
/// Natural logarithm of power over its ring's median to which speckle rises in one window; in the mean of
/// n windows it is this over √n. On drawn specimens without hatching or a screen it came to 2.4–4.4.
const SPECKLE: f64 = 4.5;
/// The same at most: in a single window speckle is bounded by its own distribution.
const MOST_SPECKLE: f64 = 3.0;
/// Share of the speckle that is left white, so that no more than its grains are seen.
const WHITE_SHARE: f64 = 0.6;
/// Power drawn black at the latest: a screen rises to 5 and more.
const BLACK: f64 = 4.5;
/// Share of the picture that may be darker than what is drawn black; a screen's dots fill a thousandth.
const DARKEST_SHARE: f64 = 0.001;
/// Steps from the middle that are not judged: rings so small hold too few points for a median.
const MIDDLE: f64 = 4.0;
/// Frequency shown where no peak asks for more, cycles per px.
const USUAL_REACH: f64 = 0.25;
/// Highest frequency that a picture holds, cycles per px.
const NYQUIST: f64 = 0.5;
/// Room around the outermost named peak.
const ROOM: f64 = 1.25;
/// Radius of the ring round a peak, drawing units.
const RING: f64 = 9.0;
/// Height of a name in the margin, and where names begin, drawing units.
const NAME_HEIGHT: f64 = 17.0;
const NAMES_AT: f64 = 458.0;
/// Systems of hatching named; the smaller ones would crowd the chart.
const MOST_HATCHINGS: usize = 4;
/// Colour of the ink in the chart, dark blue-black.
const INK: [u8; 3] = [24, 44, 60];

/// A named peak: frequency in cycles per px, x right, y down.
#[derive(Clone, Debug, PartialEq)]
pub struct Peak {
    /// Cycles per px to the right.
    pub fx: f64,
    /// Cycles per px downwards.
    pub fy: f64,
    /// Name beside it.
    pub name: String,
}

/// The picture with the peaks of the screens and hatching that were measured.
#[must_use]
pub fn draw(inked: &Inked, peaks: &[Peak]) -> Chart {
    let missing = |why: &str| Chart::Missing {
        title: TITLE,
        why: why.into(),
    };
    let Some(spectrum) = transform::standing_out(inked) else {
        return missing("no part of the usable field is 256 px wide and high");
    };
    let reach = reach(peaks);
    let speckle = speckle(spectrum.windows);
    let darkest = darkest(&spectrum, reach);
    if peaks.is_empty() && darkest < speckle {
        return missing(
            "for nothing repeats in this photograph: no spacing in any direction stands out",
        );
    }
    let black = darkest.clamp(speckle, BLACK);
    let Some(address) = shaded(&spectrum, reach, [WHITE_SHARE * speckle, black]) else {
        return missing("the picture of it could not be made");
    };
    Chart::Drawn {
        title: TITLE.into(),
        aid: standing::SPECTRUM_AID,
        svg: framed(&address, peaks, reach, inked.px_per_mm()),
    }
}

/// Peaks of the measured screens.
#[must_use]
pub fn peaks_of_screens(lattice: &Lattice) -> Vec<Peak> {
    lattice
        .inks
        .iter()
        .flat_map(|screen| {
            let ink = format!("{:?}", screen.ink);
            let ruling = screen.ruling_lpi.value().map_or_else(String::new, |lpi| {
                format!(" {}\u{a0}lpi", figures::number(lpi, 0))
            });
            let name = format!("{}{ruling}", words::ink_name(&ink));
            screen
                .vectors_per_px
                .iter()
                .enumerate()
                .map(move |(i, f)| Peak {
                    fx: f[0],
                    fy: f[1],
                    name: if i == 0 { name.clone() } else { String::new() },
                })
        })
        .collect()
}

/// Peaks of the measured systems of hatching: square to the lines, one over the spacing.
#[must_use]
pub fn peaks_of_hatching(lines: &Lines) -> Vec<Peak> {
    lines
        .systems
        .iter()
        .take(MOST_HATCHINGS)
        .enumerate()
        .filter_map(|(i, system)| {
            let period = system.period_px.value().filter(|p| *p > 0.0)?;
            let (sin, cos) = system.orientation_deg.value()?.to_radians().sin_cos();
            Some(Peak {
                // A line at angle a runs along (cos a, −sin a) with y down.
                fx: sin / period,
                fy: cos / period,
                name: format!("hatching {}", i + 1),
            })
        })
        .collect()
}

fn reach(peaks: &[Peak]) -> f64 {
    peaks
        .iter()
        .map(|p| ROOM * p.fx.abs().max(p.fy.abs()))
        .fold(USUAL_REACH, f64::max)
        .min(NYQUIST)
}

/// How far speckle rises over the median of its ring, natural logarithm.
fn speckle(windows: usize) -> f64 {
    (SPECKLE / (windows.max(1) as f64).sqrt()).min(MOST_SPECKLE)
}

/// Rows and columns of the spectrum from its middle to `reach`.
fn half(reach: f64) -> usize {
    ((reach * SIDE as f64) as usize).min(SIDE / 2 - 1)
}

/// How far the darkest points out to `reach` stand out, but for the very few.
fn darkest(spectrum: &StandingOut, reach: f64) -> f64 {
    let half = half(reach) as f64;
    let middle = (SIDE / 2) as f64;
    let mut values: Vec<f32> = spectrum
        .over_ring
        .indexed_iter()
        .filter(|((y, x), _)| {
            let (dy, dx) = (*y as f64 - middle, *x as f64 - middle);
            dy.abs() <= half && dx.abs() <= half && dy.hypot(dx) >= MIDDLE
        })
        .map(|(_, value)| *value)
        .collect();
    values.sort_by(f32::total_cmp);
    let at = (values.len() as f64 * (1.0 - DARKEST_SHARE)) as usize;
    values
        .get(at.min(values.len().saturating_sub(1)))
        .map_or(0.0, |value| f64::from(*value))
}

/// The middle of the spectrum out to `reach` as a PNG, shaded between two values.
fn shaded(spectrum: &StandingOut, reach: f64, [white, black]: [f64; 2]) -> Option<String> {
    let half = half(reach);
    let side = 2 * half + 1;
    let first = SIDE / 2 - half;
    let pixels: Vec<_> = (0..side * side)
        .map(|i| {
            let value = f64::from(spectrum.over_ring[[first + i / side, first + i % side]]);
            let cover = ((value - white) / (black - white)).clamp(0.0, 1.0);
            let [r, g, b] = INK;
            [r, g, b, (255.0 * cover) as u8]
        })
        .collect();
    picture::png(&pixels, side, side)
}

fn framed(address: &str, peaks: &[Peak], reach: f64, px_per_mm: Option<f64>) -> Markup {
    let (per_px, unit) = px_per_mm.map_or((1.0, "cycles per px"), |s| (s, "repeats per mm"));
    let shown = reach * per_px;
    let across = Axis::new(-shown, shown, 64.0, 444.0);
    let up = Axis::new(-shown, shown, 404.0, 24.0);
    html! {
        svg viewBox="0 0 604 450" role="img" aria-label=(TITLE) {
            rect class="plate" x="64" y="24" width="380" height="380" {}
            image x="64" y="24" width="380" height="380" href=(address) {}
            @for peak in peaks {
                (ringed(peak, &across, &up, per_px))
            }
            @for label in labels(peaks, &across, &up, per_px) {
                (written(&label))
            }
            (below(&across, 404.0, &format!("{unit}, left to right")))
            (beside(&up, 64.0, &format!("{unit}, upwards")))
        }
    }
}

/// Where a peak is drawn (`sign` 1) and its mirror image (−1).
fn place(peak: &Peak, sign: f64, across: &Axis, up: &Axis, per_px: f64) -> (f64, f64) {
    let (x, y) = (sign * peak.fx * per_px, -sign * peak.fy * per_px);
    (across.place(x), up.place(y))
}

/// Rings round a peak and its mirror image.
fn ringed(peak: &Peak, across: &Axis, up: &Axis, per_px: f64) -> Markup {
    let rings = [1.0, -1.0].map(|sign| place(peak, sign, across, up, per_px));
    html! {
        g class="peak" {
            @for (cx, cy) in rings {
                circle cx=(at(cx)) cy=(at(cy)) r=(RING) {}
            }
        }
    }
}

/// A name in the margin, and the ring that it stands for.
#[derive(Debug, PartialEq)]
struct Label {
    name: String,
    ring: (f64, f64),
    /// Where its line of text is, drawing units from above.
    y: f64,
}

/// The names of the peaks in a column, each as near the height of its right-hand ring as the others let it stand.
fn labels(peaks: &[Peak], across: &Axis, up: &Axis, per_px: f64) -> Vec<Label> {
    let named = peaks.iter().filter(|peak| !peak.name.is_empty());
    let mut labels: Vec<Label> = named
        .map(|peak| {
            let right = if peak.fx < 0.0 { -1.0 } else { 1.0 };
            let ring = place(peak, right, across, up, per_px);
            Label {
                name: peak.name.clone(),
                ring,
                y: ring.1,
            }
        })
        .collect();
    labels.sort_by(|a, b| a.ring.1.total_cmp(&b.ring.1));
    let [top, foot] = [up.place(f64::INFINITY), up.place(f64::NEG_INFINITY)];
    let mut free = top;
    for label in &mut labels {
        label.y = label.y.max(free);
        free = label.y + NAME_HEIGHT;
    }
    let mut free = foot;
    for label in labels.iter_mut().rev() {
        label.y = label.y.min(free);
        free = label.y - NAME_HEIGHT;
    }
    labels
}

/// A name and the line that leads to its ring.
fn written(label: &Label) -> Markup {
    let (x, y) = label.ring;
    let (dx, dy) = (NAMES_AT - 4.0 - x, label.y - y);
    let share = RING / dx.hypot(dy).max(RING);
    html! {
        g class="peak" {
            line x1=(at(x + share * dx)) y1=(at(y + share * dy)) x2=(at(NAMES_AT - 4.0)) y2=(at(label.y)) {}
            text x=(at(NAMES_AT)) y=(at(label.y + 4.0)) { (label.name) }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::plane::Plane;
    use crate::report::example;

    /// The example's ink with another picture in its place, usable everywhere.
    fn showing(picture: Plane) -> Inked {
        let mut inked = example::stipple().photos.remove(0).inked;
        inked.usable = ndarray::Array2::from_elem(picture.dim(), true);
        inked.density = [picture.clone(), picture.clone(), picture.clone()];
        inked.grey_density = picture;
        inked
    }

    /// Noise without any pattern, 0–1.
    fn noise(y: usize, x: usize) -> f32 {
        let mut bits = (1_000_003 * y as u64 + x as u64).wrapping_mul(0x9E37_79B9_7F4A_7C15);
        bits = (bits ^ (bits >> 31)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
        bits ^= bits >> 29;
        (bits >> 40) as f32 / (1 << 24) as f32
    }

    /// 0.125 cycles per px to the right, 0.0625 upwards, over noise.
    fn grating() -> Plane {
        Plane::from_shape_fn((300, 421), |(y, x)| {
            let turn = 0.125 * x as f32 - 0.0625 * y as f32;
            0.3 * (std::f32::consts::TAU * turn).cos() + 0.2 * noise(y, x)
        })
    }

    #[test]
    fn a_grating_stands_out_at_its_frequency() {
        let spectrum = transform::standing_out(&showing(grating())).unwrap();
        let (at, _) = spectrum
            .over_ring
            .indexed_iter()
            .max_by(|a, b| a.1.total_cmp(b.1))
            .unwrap();
        let found = [at, (SIDE - at.0, SIDE - at.1)];
        assert!(found.contains(&(SIDE / 2 - 16, SIDE / 2 + 32)), "{at:?}");
    }

    #[test]
    fn where_nothing_repeats_a_sentence_says_so_in_place_of_a_white_square() {
        let plain = showing(Plane::from_shape_fn((620, 540), |(y, x)| 0.4 * noise(y, x)));
        let Chart::Missing { why, .. } = draw(&plain, &[]) else {
            panic!("a picture of noise");
        };
        assert!(why.contains("nothing repeats"), "{why}");
        // What was measured is shown even where it hardly stands out.
        let peak = Peak {
            fx: 0.1,
            fy: 0.02,
            name: "black".into(),
        };
        assert!(matches!(draw(&plain, &[peak]), Chart::Drawn { .. }));
        let grating = showing(grating());
        assert!(matches!(draw(&grating, &[]), Chart::Drawn { .. }));
    }

    #[test]
    fn every_screen_has_its_name_and_none_is_written_over_another() {
        let four: Vec<Peak> = [(0.1, 0.02), (0.1, 0.021), (-0.1, 0.02), (0.09, -0.2)]
            .into_iter()
            .enumerate()
            .map(|(i, (fx, fy))| Peak {
                fx,
                fy,
                name: format!("ink {i}"),
            })
            .collect();
        let (across, up) = (
            Axis::new(-0.2, 0.2, 64.0, 444.0),
            Axis::new(-0.2, 0.2, 404.0, 24.0),
        );
        let labels = labels(&four, &across, &up, 1.0);
        assert_eq!(labels.len(), 4);
        let apart = labels.windows(2).map(|two| two[1].y - two[0].y);
        assert!(apart.into_iter().all(|d| d >= NAME_HEIGHT - 1e-9));
        assert!(labels.iter().all(|label| (24.0..=404.0).contains(&label.y)));
    }

    #[test]
    fn the_chart_reaches_out_to_every_peak() {
        let peak = |fx| Peak {
            fx,
            fy: 0.01,
            name: "black".into(),
        };
        assert!((reach(&[]) - USUAL_REACH).abs() < 1e-12);
        assert!(reach(&[peak(-0.33)]) > 0.33);
        assert!(reach(&[peak(0.49)]) <= NYQUIST);
    }
}
