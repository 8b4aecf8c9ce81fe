//! The main job: photo files of one sheet → measurements → one reading.

use crate::ink;
use crate::measure;
pub use crate::measure::Examined;
use crate::photo::{self, Photo, PhotoError, ReadOptions};
use crate::weigh::reference::REFERENCE;
use crate::weigh::{self, Process, Reading};
use std::collections::BTreeMap;
use std::path::{Path, PathBuf};

/// The result for one sheet.
pub struct Examination {
    /// Each photograph, in the order given.
    pub photos: Vec<Examined>,
    /// The combined reading.
    pub reading: Reading,
}

/// Examines one photograph.
///
/// # Errors
/// As [`photo::read`].
pub fn photograph(file: &Path, options: &ReadOptions) -> Result<Examined, PhotoError> {
    Ok(measured(photo::read(file, options)?))
}

/// Examines a photograph whose file is already in memory; `name` is kept as its name.
///
/// # Errors
/// As [`photo::read`].
pub fn bytes(bytes: &[u8], name: &Path, options: &ReadOptions) -> Result<Examined, PhotoError> {
    Ok(measured(photo::from_bytes(bytes, name, options)?))
}

fn measured(photo: Photo) -> Examined {
    let photo = photo.binned();
    let inked = ink::ink_on_paper(&photo);
    let measurements = measure::measure(&inked);
    let mut examined = Examined {
        photo,
        inked,
        measurements,
    };
    if examined.measurements.found_nothing() {
        examined.photo.adequacy.tell_no_sharpness();
    }
    examined
}

/// Whether a photograph measured as a print shows a rule. Looking for graduations takes up to twice as long as
/// all the measuring, so it is done only where a rule may be: its graduations read as a screen of one direction,
/// or as one system of lines (some fifteen graduations read as neither). Not where there are dots: some of those
/// pass for graduations.
#[must_use]
pub fn shows_rule(examined: &Examined) -> bool {
    let screens = &examined.measurements.lattice.inks;
    let of_dots = screens.iter().any(|screen| screen.vectors_per_px.len() > 1);
    let one_way = !screens.is_empty() || examined.measurements.lines.systems.len() == 1;
    one_way && !of_dots && photo::measure_common_rule(&examined.photo).is_ok()
}

/// Combines photographs already measured, all of one sheet into one reading; equal priors unless others are given.
#[must_use]
pub fn together(photos: Vec<Examined>, prior: Option<BTreeMap<Process, f64>>) -> Examination {
    let prior = prior.unwrap_or_else(weigh::read::equal_priors);
    let reading = weigh::read::read(&photos, &prior, &REFERENCE);
    Examination { photos, reading }
}

/// Examines several photographs of one sheet and combines what they say.
///
/// # Errors
/// As [`photo::read`], for the first file that cannot be read.
pub fn sheet(
    files: &[PathBuf],
    options: &ReadOptions,
    prior: Option<BTreeMap<Process, f64>>,
) -> Result<Examination, PhotoError> {
    let photos = files
        .iter()
        .map(|file| photograph(file, options))
        .collect::<Result<Vec<_>, _>>()?;
    Ok(together(photos, prior))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::measured::Measured;
    use crate::specimen::camera::Hardness;
    use crate::specimen::periodic::Periodic;
    use crate::specimen::series::{SeedFamily, SeriesRequest, specimen};
    use crate::weigh::Colouring;
    use crate::weigh::advice::TO_CHECK;
    use rand::{RngExt, SeedableRng};
    use rand_chacha::ChaCha8Rng;

    fn drawn(index: u64) -> Examined {
        let request = SeriesRequest {
            size_px: Some([700, 600]),
            ..SeriesRequest::default()
        };
        let drawn = specimen(SeedFamily::Scoring.seed(index), &request);
        let options = ReadOptions {
            px_per_mm: Some(drawn.truth.px_per_mm),
            ..ReadOptions::default()
        };
        let name = format!("{index}.jpg");
        bytes(&drawn.encode().unwrap(), Path::new(&name), &options).unwrap()
    }

    #[test]
    fn a_photograph_without_a_screen_does_not_outvote_one_with() {
        // A reproduction with screens in four inks, and a tinted lithograph.
        let alone = together(vec![drawn(7)], None);
        let chance = |reading: &Reading| reading.posterior[&Process::Halftone];
        assert_eq!(alone.reading.process, Some(Process::Halftone));
        let mut photos = alone.photos;
        photos.insert(0, drawn(6));
        let both = together(photos, None).reading;
        assert!(chance(&both) >= chance(&alone.reading) - 1e-9);
        assert_eq!(both.process, Some(Process::Halftone));
        assert_eq!(both.colouring, [Colouring::Undetermined]);
        let mut told = both.next_photographs.iter();
        assert!(told.any(|advice| advice.starts_with(TO_CHECK)));
    }

    /// Paper with so much of a camera's noise, smoothed over neighbours so that it is no white one, under squares so much
    /// darker.
    fn leaf(noise: f32, darker: f32) -> Vec<u8> {
        let mut rng = ChaCha8Rng::seed_from_u64(5);
        let mut plane = || {
            (0..500 * 600)
                .map(|_| rng.random_range(-noise..noise))
                .collect()
        };
        let noise: [Vec<f32>; 3] = std::array::from_fn(|_| plane());
        let leaf = image::RgbImage::from_fn(600, 500, |x, y| {
            let at = |dx: u32, dy: u32| ((y + dy) % 500 * 600 + (x + dx) % 600) as usize;
            let around = [at(0, 0), at(1, 0), at(0, 1), at(1, 1)];
            let smooth = |own: &Vec<f32>| around.iter().map(|i| own[*i]).sum::<f32>() / 4.0;
            let [r, g, b] = noise.each_ref().map(smooth);
            let mark = if x % 23 < 8 && y % 29 < 8 {
                darker
            } else {
                0.0
            };
            image::Rgb([222.0 + r, 212.0 + g, 195.0 + b].map(|v| (v - mark) as u8))
        });
        let mut bytes = std::io::Cursor::new(Vec::new());
        leaf.write_to(&mut bytes, image::ImageFormat::Png).unwrap();
        bytes.into_inner()
    }

    #[test]
    fn noise_on_a_blank_leaf_tells_no_sharpness_and_print_keeps_its_own() {
        let options = ReadOptions {
            px_per_mm: Some(60.0),
            ..ReadOptions::default()
        };
        let (blank, name) = (leaf(9.0, 0.0), Path::new("leaf.png"));
        let alone = photo::from_bytes(&blank, name, &options).unwrap().adequacy;
        assert!(alone.sharpness_lp_per_mm.value().is_some(), "{alone:?}");
        let examined = bytes(&blank, name, &options).unwrap();
        let told = &examined.photo.adequacy;
        for figure in [&told.sharpness_lp_per_mm, &told.sharpness_cycles_per_px] {
            let Measured::Missing(why) = figure else {
                panic!("{figure:?}")
            };
            assert!(
                why.not_measured.contains("nothing sharp was found"),
                "{why:?}"
            );
        }
        assert_eq!(told.verdict, alone.verdict);
        assert!(told.notes.iter().all(|note| !note.contains("line pairs")));
        // Marks too pale for edges of ink, by which the blur is measured.
        let pale = leaf(4.0, 14.0);
        let own = photo::from_bytes(&pale, name, &options).unwrap().adequacy;
        assert!(own.blur_sigma_px.value().is_none() && own.sharpness_lp_per_mm.value().is_some());
        assert_eq!(bytes(&pale, name, &options).unwrap().photo.adequacy, own);
        for index in [0, 4, 6, 7, 8] {
            let request = SeriesRequest {
                size_px: Some([700, 600]),
                ..SeriesRequest::default()
            };
            let specimen = specimen(SeedFamily::Scoring.seed(index), &request);
            let file = specimen.encode().unwrap();
            let photo = photo::from_bytes(&file, name, &options).unwrap().binned();
            let examined = bytes(&file, name, &options).unwrap();
            assert_eq!(examined.photo.adequacy, photo.adequacy, "{index}");
            assert!(photo.adequacy.sharpness_lp_per_mm.value().is_some());
        }
    }

    #[test]
    fn a_rule_is_known_for_one_and_a_print_is_not() {
        let rule = SeriesRequest {
            periodic: Some(Periodic::Rule),
            size_px: Some([480, 480]),
            px_per_mm: Some([30.0, 30.0]),
            hardness: Some(Hardness::Easy),
            ..SeriesRequest::default()
        };
        let drawn_rule = specimen(SeedFamily::Scoring.seed(1_000_000), &rule);
        let bytes_of_rule = drawn_rule.encode().unwrap();
        let examined = bytes(
            &bytes_of_rule,
            Path::new("rule.png"),
            &ReadOptions::default(),
        );
        assert!(shows_rule(&examined.unwrap()));
        assert!(!shows_rule(&drawn(6)));
    }
}
