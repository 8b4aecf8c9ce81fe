//! What two photographs of one spot share: the drawing, coarsely, without light and paper.

mod cells;
mod grid;

use crate::ink::Inked;
use base64::Engine;
use base64::engine::general_purpose::STANDARD;
use cells::{COARSE, Cells, OUTSIDE};
use grid::{CELLS, Grid};
use std::cell::OnceCell;

/// Least standard deviation of the cells, density: below, a field is too even to be known again.
const LEAST_CONTRAST: f64 = 0.012;
/// One standard deviation in stored units; four of them fit a byte.
const ONE_SD: f64 = 31.0;
/// Farthest shift looked for, as a share of the longer side.
const FARTHEST_SHIFT: f64 = 0.25;
/// Correlation in the coarse look below which two photographs are not looked at finely.
const COARSE_ALIKE: f64 = 0.45;
/// Correlation without turning below which no turn is tried.
const WORTH_TURNING: f64 = 0.3;
/// Turns that are tried, degrees: a loupe put down again on the same spot.
const TURNS_DEG: [f64; 6] = [-3.0, -2.0, -1.0, 1.0, 2.0, 3.0];
/// Cells that a turn may move the best shift.
const TURNED_SHIFT: isize = 2;
/// Correlation from which two photographs show one spot. Of 120 drawn pairs of one spot, turned by up to
/// 2.5°, moved by up to an eighth of the frame and in other light, 105 reach it (2026-11-26; without turning
/// and levelling 90 did); of 7021 pairs of other spots 6 do, four of them at scales that tell them apart.
const ALIKE: f64 = 0.7;

/// A photograph, coarsely. Every pair of photographs is compared, so what a comparison needs of one
/// is reckoned once.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Likeness {
    fine: Cells,
    coarse: Cells,
}

impl Likeness {
    /// Of a photograph; none where its field is too even or too small.
    #[must_use]
    pub fn of(inked: &Inked) -> Option<Self> {
        let mut grid = Grid::of(inked)?;
        grid.take_off_surroundings();
        let sd = grid.standard_deviation()?;
        if sd < LEAST_CONTRAST {
            return None;
        }
        grid.level_contrast(sd);
        let sd = grid.standard_deviation()?;
        let cells = grid
            .value
            .iter()
            .zip(&grid.inside)
            .map(|(v, inside)| match inside {
                true => (v / sd * ONE_SD).round().clamp(-127.0, 127.0) as i8,
                false => OUTSIDE,
            })
            .collect();
        Some(Self::new(Cells::new(grid.width, grid.height, cells)))
    }

    fn new(fine: Cells) -> Self {
        Self {
            coarse: fine.coarse(),
            fine,
        }
    }

    /// As text: base64 of width, height and cells.
    #[must_use]
    pub fn to_text(&self) -> String {
        let Cells {
            width,
            height,
            values,
            ..
        } = &self.fine;
        let mut bytes = vec![*width as u8, *height as u8];
        bytes.extend(values.iter().map(|c| *c as u8));
        STANDARD.encode(bytes)
    }

    /// From text; none where it is no likeness.
    #[must_use]
    pub fn from_text(text: &str) -> Option<Self> {
        let bytes = STANDARD.decode(text).ok()?;
        let [width, height, cells @ ..] = &bytes[..] else {
            return None;
        };
        let (width, height) = (usize::from(*width), usize::from(*height));
        (width > 0 && width * height == cells.len()).then(|| {
            let cells = cells.iter().map(|c| *c as i8).collect();
            Self::new(Cells::new(width, height, cells))
        })
    }

    /// This photograph, to be compared with many others.
    #[must_use]
    pub fn turnable(&self) -> Turnable<'_> {
        Turnable {
            upright: self,
            turned: OnceCell::new(),
        }
    }

    /// Whether two photographs show one spot: shifted by up to a quarter of the frame, not turned by
    /// more than a few degrees, at about the same magnification.
    #[must_use]
    pub fn is_same_spot(&self, other: &Turnable<'_>) -> bool {
        self.correlations(other).any(|r| r >= ALIKE)
    }

    /// Highest correlation over shifts, −1 to 1, without turning and then for each small turn, reckoned one
    /// after the other as they are asked for; none where a coarse look already tells the two apart, and no
    /// turns where they are not worth it.
    fn correlations<'a>(&'a self, other: &'a Turnable<'_>) -> impl Iterator<Item = f64> + 'a {
        let straight = self.straight(other.upright);
        let about = straight
            .filter(|(r, _)| *r >= WORTH_TURNING)
            .map(|(_, about)| about);
        let turned = about.into_iter().flat_map(move |about| {
            let turned = other.turned().iter();
            turned.map(move |turned| self.fine.best_shift(turned, about, TURNED_SHIFT).0)
        });
        straight.map(|(r, _)| r).into_iter().chain(turned)
    }

    /// Highest correlation over shifts, with its shift.
    fn straight(&self, other: &Self) -> Option<(f64, (isize, isize))> {
        let reach = (FARTHEST_SHIFT * (CELLS / COARSE) as f64) as isize;
        let (coarse, (dx, dy)) = self.coarse.best_shift(&other.coarse, (0, 0), reach);
        let scale = COARSE as isize;
        let about = (dx * scale, dy * scale);
        (coarse >= COARSE_ALIKE).then(|| self.fine.best_shift(&other.fine, about, scale))
    }
}

/// A photograph with its small turns, which are reckoned once, when they are first asked for: turning costs
/// more than comparing.
pub struct Turnable<'a> {
    upright: &'a Likeness,
    turned: OnceCell<[Cells; TURNS_DEG.len()]>,
}

impl Turnable<'_> {
    fn turned(&self) -> &[Cells; TURNS_DEG.len()] {
        let fine = &self.upright.fine;
        self.turned
            .get_or_init(|| TURNS_DEG.map(|degrees| fine.turned(degrees)))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::photo::ReadOptions;
    use crate::specimen::camera::Hardness;
    use crate::specimen::series::{SeedFamily, SeriesRequest, specimen};
    use image::{ImageFormat, RgbImage, imageops};
    use std::io::Cursor;
    use std::path::Path;

    fn likeness(picture: &RgbImage) -> Option<Likeness> {
        let mut bytes = Cursor::new(Vec::new());
        picture.write_to(&mut bytes, ImageFormat::Png).unwrap();
        let options = ReadOptions::default();
        let photo =
            crate::photo::from_bytes(bytes.get_ref(), Path::new("a.png"), &options).unwrap();
        Likeness::of(&crate::ink::ink_on_paper(&photo))
    }

    /// Larger than a frame, so that frames can be taken from several places of it.
    fn drawn(seed: u64) -> RgbImage {
        let request = SeriesRequest {
            size_px: Some([680, 540]),
            px_per_mm: Some([25.0, 60.0]),
            hardness: Some(Hardness::Usual),
            ..SeriesRequest::default()
        };
        specimen(SeedFamily::Scoring.seed(seed), &request).photo
    }

    fn frame(sheet: &RgbImage, left: u32, top: u32) -> RgbImage {
        imageops::crop_imm(sheet, left, top, 560, 440).to_image()
    }

    /// The same spot again: turned a little, moved, darker, noisier.
    fn again(sheet: &RgbImage, left: u32, top: u32, turn_deg: f32, key: u32) -> RgbImage {
        let turned = imageproc::geometric_transformations::rotate_about_center(
            sheet,
            turn_deg.to_radians(),
            imageproc::geometric_transformations::Interpolation::Bilinear,
            imageproc::geometric_transformations::Border::Replicate,
        );
        let moved = frame(&turned, left, top);
        RgbImage::from_fn(moved.width(), moved.height(), |x, y| {
            let noise = f64::from((x * 7919 + y * 104_729 + key).wrapping_mul(2_654_435_761) >> 28);
            let light = 0.75 + 0.15 * f64::from(x) / f64::from(moved.width());
            let pixel = moved.get_pixel(x, y).0;
            image::Rgb(pixel.map(|v| (f64::from(v) * light + noise - 7.0).clamp(0.0, 255.0) as u8))
        })
    }

    /// Highest of all, 0 where a coarse look tells the two apart.
    fn correlation(a: &Likeness, b: &Likeness) -> f64 {
        a.correlations(&b.turnable()).fold(0.0, f64::max)
    }

    #[test]
    fn one_spot_twice_is_known_and_other_spots_are_not() {
        let sheets: Vec<RgbImage> = (0..10).map(drawn).collect();
        let known: Vec<Option<Likeness>> =
            sheets.iter().map(|s| likeness(&frame(s, 60, 50))).collect();
        let mut same = Vec::new();
        for (i, sheet) in sheets.iter().enumerate() {
            let (left, top) = (20 + 9 * i as u32, 90 - 7 * i as u32);
            let turn = [1.5, -2.0, 0.6][i % 3];
            let after = likeness(&again(sheet, left, top, turn, i as u32));
            if let (Some(before), Some(after)) = (&known[i], after) {
                same.push(correlation(before, &after));
            }
        }
        let mut worst = 0.0f64;
        for (i, a) in known.iter().enumerate() {
            for b in known[i + 1..].iter().flatten() {
                worst = worst.max(a.as_ref().map_or(0.0, |a| correlation(a, b)));
            }
        }
        let told = same.iter().filter(|r| **r >= ALIKE).count();
        println!("one spot: {same:.2?}; other spots: at most {worst:.2}");
        assert!(
            same.len() >= 6,
            "only {} fields had enough contrast",
            same.len()
        );
        assert!(
            told * 10 >= same.len() * 7,
            "{told} of {} known again",
            same.len()
        );
        assert!(worst < ALIKE - 0.1, "{worst}");
    }

    #[test]
    fn text_and_back() {
        let likeness = Likeness::new(Cells::new(3, 2, vec![-128, 127, 0, 1, -1, 5]));
        assert_eq!(Likeness::from_text(&likeness.to_text()), Some(likeness));
        for text in ["", "AAAA", "!", "/////w=="] {
            assert_eq!(Likeness::from_text(text), None, "{text}");
        }
    }

    #[test]
    fn even_and_tiny_fields_are_not_compared() {
        let even = RgbImage::from_pixel(400, 300, image::Rgb([220, 210, 190]));
        assert_eq!(likeness(&even), None);
        for (w, h) in [(1, 1), (3000, 1), (40, 30)] {
            let tiny = RgbImage::from_fn(w, h, |x, _| image::Rgb([(x * 90) as u8; 3]));
            assert_eq!(likeness(&tiny), None);
        }
    }
}
