//! An invented estate to try a lot on: drawn sheets, several photographs of each, and the faults of
//! an afternoon's work.

mod fault;

use crate::specimen::camera::Hardness;
use crate::specimen::periodic::Periodic;
use crate::specimen::screen::Family;
use crate::specimen::series::{FIVE, SeedFamily, SeriesRequest, Specimen, specimen};
use crate::specimen::sheet::Origin;
use fault::{Fault, damaged};
use rayon::prelude::*;
use std::fs;
use std::io;
use std::path::Path;

/// Name of the file with the truth, beside the folder of photographs.
pub const TRUTH_NAME: &str = "truth.csv";

/// What to draw.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Estate {
    /// Number of sheets.
    pub sheets: u64,
    /// Width and height of the photographs, px.
    pub size_px: [usize; 2],
    /// Scale, px/mm.
    pub px_per_mm: f64,
}

impl Default for Estate {
    /// Forty sheets, photographed at about a megapixel as a loupe and a telephone give.
    fn default() -> Self {
        Self {
            sheets: 40,
            size_px: [1200, 900],
            px_per_mm: 60.0,
        }
    }
}

/// One photograph of the estate.
#[derive(Clone, Debug, PartialEq)]
struct Shot {
    /// File name from the folder.
    file: String,
    /// Sheet that it shows.
    sheet: String,
    /// Process of the sheet.
    origin: Origin,
    /// Number that fixes what is drawn.
    seed: u64,
    fault: Fault,
}

impl Estate {
    /// Draws the estate into a folder: photographs in `photos`, the truth in [`TRUTH_NAME`] beside it.
    /// The same estate gives the same bytes. Returns the number of files.
    ///
    /// # Errors
    /// What the disk says.
    pub fn draw(&self, folder: &Path) -> io::Result<usize> {
        let photos = folder.join("photos");
        let shots = self.shots();
        shots
            .par_iter()
            .map(|shot| write(&photos.join(&shot.file), &self.picture(shot)?))
            .collect::<io::Result<Vec<()>>>()?;
        write(&photos.join("rule.jpg"), &self.rule()?)?;
        write(
            &photos.join("notes.txt"),
            b"Seen at the estate; two boxes, one loupe.\n",
        )?;
        write(&folder.join(TRUTH_NAME), &truth(&shots)?)?;
        Ok(shots.len() + 1)
    }

    /// All photographs: three of a sheet as a rule, in turn in a folder of its own and in a box with
    /// letters behind the names, with the faults spread over them.
    fn shots(&self) -> Vec<Shot> {
        let mut shots = Vec::new();
        for number in 0..self.sheets {
            let (sheet, folder) = name(number);
            let origin = FIVE[(number * 3 % 5) as usize];
            for photo in 0..photographs_of(number) {
                let fault = Fault::of(number, photo);
                let stem = match folder {
                    true => format!("{sheet}/{}", photo + 1),
                    false => format!("{sheet}{}", letter(photo)),
                };
                shots.push(Shot {
                    file: format!("{stem}.jpg"),
                    sheet: sheet.clone(),
                    origin,
                    // What is photographed twice has the seed of the photograph before it.
                    seed: 100 * number + photo - u64::from(fault.repeats()),
                    fault,
                });
            }
        }
        shots
    }

    fn picture(&self, shot: &Shot) -> io::Result<Vec<u8>> {
        if shot.fault == Fault::Text {
            return Ok(b"Dear cousin, the prints hang in the hall as before.\n".to_vec());
        }
        let drawn = self.drawn(shot);
        damaged(&drawn, shot.fault, shot.seed)
    }

    fn drawn(&self, shot: &Shot) -> Specimen {
        let family = Family::ALL[(shot.seed / 100 % Family::ALL.len() as u64) as usize];
        let origin = match shot.fault {
            Fault::NoPrint => Origin::Other,
            _ => shot.origin,
        };
        let request = SeriesRequest {
            origin: Some(origin),
            look_alike: (origin == Origin::Other)
                .then_some(crate::specimen::block::LookAlike::PhotographicScene),
            family: (origin == Origin::Halftone).then_some(family),
            reproduces_old: Some(true),
            px_per_mm: Some([self.px_per_mm, self.px_per_mm]),
            size_px: Some(self.size_px),
            hardness: Some(Hardness::Easy),
            ..SeriesRequest::default()
        };
        specimen(SeedFamily::Scoring.seed(1_000_000 + shot.seed), &request)
    }

    fn rule(&self) -> io::Result<Vec<u8>> {
        let request = SeriesRequest {
            periodic: Some(Periodic::Rule),
            px_per_mm: Some([self.px_per_mm, self.px_per_mm]),
            // Wide enough for the graduations that a scale is read from.
            size_px: Some(
                self.size_px
                    .map(|side| side.max((16.0 * self.px_per_mm) as usize)),
            ),
            hardness: Some(Hardness::Easy),
            ..SeriesRequest::default()
        };
        let drawn = specimen(SeedFamily::Scoring.seed(1_000_000), &request);
        fault::jpeg(&drawn.photo)
    }
}

fn photographs_of(number: u64) -> u64 {
    [3, 3, 2, 4][(number % 4) as usize]
}

/// Name of a sheet, and whether it has a folder of its own.
fn name(number: u64) -> (String, bool) {
    const SUBJECTS: [&str; 8] = [
        "rose", "lily", "heron", "beetle", "fern", "trout", "finch", "quince",
    ];
    let subject = SUBJECTS[(number % 8) as usize];
    if number.is_multiple_of(2) {
        (format!("box 1/{subject} {}", number + 1), true)
    } else {
        (format!("box 2/{subject}-{:02}", number + 1), false)
    }
}

fn letter(photo: u64) -> char {
    char::from(b'a' + (photo % 26) as u8)
}

fn truth(shots: &[Shot]) -> io::Result<Vec<u8>> {
    let mut writer = csv::Writer::from_writer(Vec::new());
    writer.write_record(["file", "sheet", "process", "fault"])?;
    for shot in shots {
        let origin = serde_json::to_value(shot.origin)?;
        let origin = origin.as_str().unwrap_or_default();
        writer.write_record([&shot.file, &shot.sheet, origin, shot.fault.name()])?;
    }
    writer
        .into_inner()
        .map_err(|e| io::Error::other(e.to_string()))
}

fn write(path: &Path, bytes: &[u8]) -> io::Result<()> {
    if let Some(folder) = path.parent() {
        fs::create_dir_all(folder)?;
    }
    fs::write(path, bytes)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_estate_holds_every_fault_and_some_120_photographs() {
        let shots = Estate::default().shots();
        assert_eq!(shots.len(), 120);
        for fault in Fault::ALL {
            assert!(shots.iter().any(|s| s.fault == fault), "{fault:?}");
        }
        let mut files: Vec<_> = shots.iter().map(|s| &s.file).collect();
        files.sort();
        files.dedup();
        assert_eq!(files.len(), 120);
    }
}
