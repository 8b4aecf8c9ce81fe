//! An invented estate to try a lot on: drawn sheets, several photographs of each, and the faults of
//! an afternoon's work.

mod fault;

use crate::specimen::block::LookAlike;
use crate::specimen::camera::Hardness;
use crate::specimen::periodic::Periodic;
use crate::specimen::screen::Family;
use crate::specimen::series::{FIVE, SeedFamily, SeriesRequest, specimen};
use crate::specimen::sheet::Origin;
use crate::specimen::views::{View, views};
use fault::{Fault, damaged};
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
    /// Where on the sheet it is taken.
    view: View,
    fault: Fault,
}

impl Estate {
    /// Draws the estate into a folder: photographs in `photos`, the truth in [`TRUTH_NAME`] beside it; `done` is told of each
    /// sheet. The same estate gives the same bytes. Returns the number of files.
    ///
    /// # Errors
    /// What the disk says.
    pub fn draw(&self, folder: &Path, done: &dyn Fn()) -> io::Result<usize> {
        let photos = folder.join("photos");
        let mut shots = Vec::new();
        // One sheet after the other: a sheet is several frames wide, and its work is shared already.
        for number in 0..self.sheets {
            let of_sheet = self.shots(number);
            for (shot, bytes) in of_sheet.iter().zip(self.files(number, &of_sheet)?) {
                write(&photos.join(&shot.file), &bytes)?;
            }
            shots.extend(of_sheet);
            done();
        }
        write(&photos.join("rule.jpg"), &self.rule()?)?;
        write(
            &photos.join("notes.txt"),
            b"Seen at the estate; two boxes, one loupe.\n",
        )?;
        write(&folder.join(TRUTH_NAME), &truth(&shots)?)?;
        Ok(shots.len() + 1)
    }

    /// The photographs of a sheet: three as a rule, in turn in a folder of its own and in a box with
    /// letters behind the names, with the faults spread over them.
    fn shots(&self, number: u64) -> Vec<Shot> {
        let (sheet, folder) = name(number);
        (0..photographs_of(number))
            .map(|photo| {
                let fault = Fault::of(number, photo);
                let stem = match folder {
                    true => format!("{sheet}/{}", photo + 1),
                    false => format!("{sheet}{}", letter(photo)),
                };
                Shot {
                    file: format!("{stem}.jpg"),
                    sheet: sheet.clone(),
                    origin: FIVE[(number * 3 % 5) as usize],
                    // What is photographed twice lies where the photograph before it was taken.
                    view: fault.view((photo - u64::from(fault.repeats())) as usize),
                    fault,
                }
            })
            .collect()
    }

    /// The files of a sheet's photographs.
    fn files(&self, number: u64, shots: &[Shot]) -> io::Result<Vec<Vec<u8>>> {
        let seed = SeedFamily::Scoring.seed(1_000_000 + 100 * number);
        let taken: Vec<View> = shots.iter().map(|shot| shot.view).collect();
        let sheet = views(seed, &self.request(number), &taken);
        shots
            .iter()
            .zip(&sheet.photos)
            .map(|(shot, picture)| match shot.fault {
                Fault::Text => {
                    Ok(b"Dear cousin, the prints hang in the hall as before.\n".to_vec())
                }
                // Another seed: the same would draw the sheet's own subject.
                Fault::NoPrint => fault::jpeg(&specimen(seed + 50, &self.no_print()).photo),
                _ => damaged(picture, shot.fault),
            })
            .collect()
    }

    /// A photograph like the others of the estate.
    fn any(&self) -> SeriesRequest {
        SeriesRequest {
            px_per_mm: Some([self.px_per_mm, self.px_per_mm]),
            size_px: Some(self.size_px),
            hardness: Some(Hardness::Easy),
            ..SeriesRequest::default()
        }
    }

    fn request(&self, number: u64) -> SeriesRequest {
        let origin = FIVE[(number * 3 % 5) as usize];
        let family = Family::ALL[(number % Family::ALL.len() as u64) as usize];
        SeriesRequest {
            origin: Some(origin),
            family: (origin == Origin::Halftone).then_some(family),
            reproduces_old: Some(true),
            ..self.any()
        }
    }

    fn no_print(&self) -> SeriesRequest {
        SeriesRequest {
            origin: Some(Origin::Other),
            look_alike: Some(LookAlike::PhotographicScene),
            ..self.any()
        }
    }

    fn rule(&self) -> io::Result<Vec<u8>> {
        let request = SeriesRequest {
            periodic: Some(Periodic::Rule),
            // Wide enough for the graduations that a scale is read from.
            size_px: Some(
                self.size_px
                    .map(|side| side.max((16.0 * self.px_per_mm) as usize)),
            ),
            ..self.any()
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
        let estate = Estate::default();
        let shots: Vec<Shot> = (0..estate.sheets).flat_map(|n| estate.shots(n)).collect();
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
