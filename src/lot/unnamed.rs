//! Rules among photographs whose names do not say so.

use super::gate::Gate;
use super::run::{RunError, on_threads};
use super::sheet::pixels;
use super::source::{Fetcher, Found};
use crate::photo::shows_rule;
use std::io::Cursor;
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::sync::atomic::AtomicBool;
use std::sync::{Mutex, PoisonError};

/// Means to look at many photographs.
pub struct Search<'a> {
    /// Reads files.
    pub fetcher: &'a Fetcher,
    /// Keeps memory within bounds.
    pub gate: &'a Gate,
    /// Photographs looked at once.
    pub threads: usize,
    /// Told of each photograph looked at, with how many there are in all.
    pub done: &'a (dyn Fn(usize) + Sync),
}

impl Search<'_> {
    /// Those that show a rule, in the order given. One that cannot be read shows none: it is reported
    /// when its sheet is examined.
    ///
    /// # Errors
    /// When no thread can be started.
    pub fn among(&self, photos: &[Found], max_megapixels: f64) -> Result<Vec<Found>, RunError> {
        let numbered: Vec<(usize, &Found)> = photos.iter().enumerate().collect();
        let found = Mutex::new(Vec::new());
        on_threads(
            &numbered,
            self.threads,
            &AtomicBool::new(false),
            |(number, photo)| {
                if self.shows_rule(photo, max_megapixels) {
                    let mut found = found.lock().unwrap_or_else(PoisonError::into_inner);
                    found.push(*number);
                }
                (self.done)(photos.len());
                Ok(())
            },
        )?;
        let mut found = found.into_inner().unwrap_or_else(PoisonError::into_inner);
        found.sort_unstable();
        Ok(found.into_iter().map(|n| photos[n].clone()).collect())
    }

    fn shows_rule(&self, photo: &Found, max_megapixels: f64) -> bool {
        let Ok(bytes) = self.fetcher.fetch(&photo.location, max_megapixels) else {
            return false;
        };
        let px = pixels(&bytes, max_megapixels);
        if px == 0 {
            return false;
        }
        let _permit = self.gate.enter(px);
        // A file that trips the decoder is none of a rule; its sheet says what is wrong with it.
        let shows = catch_unwind(AssertUnwindSafe(|| {
            let reader = image::ImageReader::new(Cursor::new(&bytes)).with_guessed_format();
            let picture = reader.ok()?.decode().ok()?;
            Some(shows_rule(&picture.into_luma8()))
        }));
        matches!(shows, Ok(Some(true)))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::specimen::camera::Hardness;
    use crate::specimen::periodic::Periodic;
    use crate::specimen::series::{SeedFamily, SeriesRequest, specimen};
    use crate::specimen::sheet::Origin;
    use std::sync::atomic::{AtomicUsize, Ordering};

    #[test]
    fn a_rule_is_found_whatever_its_name() {
        let folder = tempfile::tempdir().unwrap();
        let request = SeriesRequest {
            size_px: Some([900, 640]),
            px_per_mm: Some([40.0, 40.0]),
            hardness: Some(Hardness::Easy),
            ..SeriesRequest::default()
        };
        let rule = SeriesRequest {
            periodic: Some(Periodic::Rule),
            ..request.clone()
        };
        let lines = SeriesRequest {
            origin: Some(Origin::LineEngraving),
            ..request.clone()
        };
        let screen = SeriesRequest {
            origin: Some(Origin::Halftone),
            ..request
        };
        let mut photos = Vec::new();
        for (number, request) in [lines.clone(), rule, screen, lines].iter().enumerate() {
            let name = format!("IMG_00{number}.png");
            let file = folder.path().join(&name);
            let drawn = specimen(SeedFamily::Scoring.seed(number as u64), request);
            drawn.photo.save(&file).unwrap();
            photos.push(Found {
                name,
                location: file.to_string_lossy().into_owned(),
                stamp: String::new(),
            });
        }
        std::fs::write(folder.path().join("letter.jpg"), "Dear cousin").unwrap();
        photos.push(Found {
            name: "letter.jpg".into(),
            location: folder
                .path()
                .join("letter.jpg")
                .to_string_lossy()
                .into_owned(),
            stamp: String::new(),
        });
        let looked_at = AtomicUsize::new(0);
        let search = Search {
            fetcher: &Fetcher::default(),
            gate: &Gate::new(500),
            threads: 2,
            done: &|all| {
                assert_eq!(all, 5);
                looked_at.fetch_add(1, Ordering::SeqCst);
            },
        };
        let found = search.among(&photos, 200.0).unwrap();
        let names: Vec<&str> = found.iter().map(|f| f.name.as_str()).collect();
        assert_eq!(names, ["IMG_001.png"]);
        assert_eq!(looked_at.into_inner(), 5);
    }
}
