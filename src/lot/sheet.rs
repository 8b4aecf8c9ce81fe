//! The pure function of a lot: the files of one sheet → its record.
//!
//! Photographs are measured one after the other. What the report and the lot sheet show of one is
//! drawn while its pixels are at hand; then they are let go, so a sheet of many photographs needs
//! no more memory than one of few.

mod rule;
mod said;

use super::detail::{self, Detail};
use super::gate::Gate;
use super::ledger::sync_folder;
use super::likeness::Likeness;
use super::names::{PAGE_NAME, REPORTS};
use super::record::{Record, RuleSeen, Seen, Unread};
use super::source::{Fetcher, NOWHERE, NotFetched};
use super::task::{PhotoRef, Task, file_stem};
use crate::examine::{self, Examination, Examined};
use crate::photo::adequacy::Verdict;
use crate::photo::{ReadOptions, Scale};
use crate::report::html::{self, Circumstances, PhotoParts};
use crate::report::json::{self, NotRead};
use crate::report::words;
use rule::{Rules, ScaleFound};
use std::io;
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::path::Path;

/// What all sheets of a run share.
pub struct Bench<'a> {
    /// Reads files.
    pub fetcher: &'a Fetcher,
    /// Keeps memory within bounds.
    pub gate: &'a Gate,
    /// The lot's folder, where reports are wanted.
    pub reports_in: Option<&'a Path>,
    /// When the lot was begun, as it is printed in reports.
    pub made: &'a str,
    rules: Rules,
}

impl<'a> Bench<'a> {
    /// A bench on which no rule has been measured yet.
    #[must_use]
    pub fn new(
        fetcher: &'a Fetcher,
        gate: &'a Gate,
        reports_in: Option<&'a Path>,
        made: &'a str,
    ) -> Self {
        Self {
            fetcher,
            gate,
            reports_in,
            made,
            rules: Rules::default(),
        }
    }
}

/// Examines one sheet. A file that cannot be read, or on which the measuring fails, is named in the
/// record; the rest goes on.
///
/// # Errors
/// Only where a report cannot be written.
pub fn examine(task: &Task, bench: &Bench<'_>) -> io::Result<Record> {
    let mut record = Record::blank(&task.sheet, task.note.as_deref());
    let mut sheet = Measured::default();
    for (index, photo) in task.photos.iter().enumerate() {
        if photo.location == NOWHERE {
            record.not_read.push(not_among_the_photographs(photo));
            continue;
        }
        let scale = match bench.rules.scale_for(photo, task, bench) {
            Ok(ScaleFound::IsRule(scale)) => {
                record.rules.push(rule_seen(photo, &scale));
                continue;
            }
            Ok(ScaleFound::Options(options, notices)) => {
                for notice in notices {
                    if !record.notices.contains(&notice) {
                        record.notices.push(notice);
                    }
                }
                options
            }
            Ok(ScaleFound::NoRule(unread)) | Err(unread) => {
                record.not_read.push(unread);
                continue;
            }
        };
        match measure(photo, index, task, &scale, bench) {
            Ok(one) => sheet.add(one, &mut record),
            Err(unread) => record.not_read.push(unread),
        }
    }
    if !sheet.photos.is_empty() {
        conclude(sheet, task, bench, &mut record)?;
    }
    Ok(record)
}

/// The photographs of a sheet, measured and without their pixels.
#[derive(Default)]
struct Measured {
    photos: Vec<Examined>,
    parts: Vec<PhotoParts>,
    detail: Option<Detail>,
}

/// One photograph, measured and without its pixels.
struct One {
    examined: Examined,
    parts: Option<PhotoParts>,
    detail: Detail,
    seen: Seen,
    notice: Option<String>,
}

impl Measured {
    fn add(&mut self, one: One, record: &mut Record) {
        record.photos.push(one.seen);
        record.notices.extend(one.notice);
        self.photos.push(one.examined);
        self.parts.extend(one.parts);
        let telling = self.detail.as_ref().map(|d| d.telling);
        if telling.is_none_or(|before| one.detail.telling > before) {
            self.detail = Some(one.detail);
        }
    }
}

fn measure(
    photo: &PhotoRef,
    index: usize,
    task: &Task,
    options: &ReadOptions,
    bench: &Bench<'_>,
) -> Result<One, Unread> {
    let bytes = fetch(photo, bench.fetcher, task.max_megapixels)?;
    let _permit = bench.gate.enter(pixels(&bytes, task.max_megapixels));
    let draw = bench.reports_in.is_some();
    let measured = catch_unwind(AssertUnwindSafe(|| {
        let examined = examine::bytes(&bytes, Path::new(&photo.name), options)
            .map_err(|error| error.to_string())?;
        // It is weighed all the same: a reproduction that passes for a rule must not be left out.
        let like_a_rule = examine::shows_rule(&examined);
        let parts = draw.then(|| PhotoParts::new(&examined, index, task.photos.len()));
        Ok(One {
            notice: like_a_rule.then(|| rule::unnamed_rule(photo, options)),
            seen: seen(&examined, photo),
            detail: detail::of(&examined, &photo.name),
            parts,
            examined: without_pixels(examined),
        })
    }));
    let measured = measured.unwrap_or_else(|_| {
        Err(format!(
            "{}: the measuring failed on this photograph; photograph the place once more and try that, and please report it",
            photo.name
        ))
    });
    measured.map_err(|why| Unread {
        file: photo.name.clone(),
        why,
        try_again: false,
    })
}

fn not_among_the_photographs(photo: &PhotoRef) -> Unread {
    Unread {
        file: photo.name.clone(),
        why: format!(
            "{}: is in the list of sheets and not among the photographs, so it was not read; name the folder that holds it as well, or mend the list",
            photo.name
        ),
        try_again: false,
    }
}

/// The bytes of a photograph, or why not.
fn fetch(photo: &PhotoRef, fetcher: &Fetcher, max_megapixels: f64) -> Result<Vec<u8>, Unread> {
    fetcher
        .fetch(&photo.location, max_megapixels)
        .map_err(|NotFetched { why, try_again }| Unread {
            file: photo.name.clone(),
            why: format!("{}: {why}", photo.name),
            try_again,
        })
}

/// Pixels that decoding will bring into memory; 0 where the header tells nothing or the picture is
/// over the limit, for then nothing is decoded.
pub(super) fn pixels(bytes: &[u8], max_megapixels: f64) -> u64 {
    let size = image::ImageReader::new(io::Cursor::new(bytes))
        .with_guessed_format()
        .ok()
        .and_then(|reader| reader.into_dimensions().ok());
    let px = size.map_or(0, |(w, h)| u64::from(w) * u64::from(h));
    if px as f64 > max_megapixels * 1e6 {
        0
    } else {
        px
    }
}

fn seen(examined: &Examined, photo: &PhotoRef) -> Seen {
    let own = &examined.photo;
    Seen {
        file: photo.name.clone(),
        sha256: own.provenance.sha256.clone(),
        width_px: own.binning.file_size_px.0,
        height_px: own.binning.file_size_px.1,
        px_per_mm: own.file_scale().map(|s| [s.value, s.lo, s.hi]),
        scale_source: own
            .scale
            .as_ref()
            .map(|s| words::scale_source(s.source).to_owned()),
        verdict: words::verdict(own.adequacy.verdict).to_owned(),
        unusable: own.adequacy.verdict == Verdict::Unusable,
        likeness: Likeness::of(&examined.inked).map(|l| l.to_text()),
    }
}

/// Lets the pixels go. The usable field stays (a byte a pixel): it carries the photograph's size.
fn without_pixels(mut examined: Examined) -> Examined {
    examined.photo.linear = Default::default();
    examined.inked.density = Default::default();
    examined.inked.grey_density = Default::default();
    examined.inked.usable = Default::default();
    examined
}

fn rule_seen(photo: &PhotoRef, scale: &Scale) -> RuleSeen {
    RuleSeen {
        file: photo.name.clone(),
        px_per_mm: [scale.value, scale.lo, scale.hi],
    }
}

/// Reads the sheet and writes its report.
fn conclude(
    sheet: Measured,
    task: &Task,
    bench: &Bench<'_>,
    record: &mut Record,
) -> io::Result<()> {
    let Measured {
        photos,
        parts,
        detail,
    } = sheet;
    let examination = examine::together(photos, Some(task.prior.clone()));
    record.reading = Some(said::reading(&examination));
    let cautions = examination.reading.cautions.iter();
    record.notices.extend(cautions.map(|c| words::sentence(c)));
    record.pictures = detail.map(|d| d.pictures).unwrap_or_default();
    if let Some(folder) = bench.reports_in {
        record.report = Some(write_report(
            &examination,
            &parts,
            task,
            record,
            folder,
            bench,
        )?);
    }
    Ok(())
}

/// Writes the report and the JSON document, whole or not at all; returns the report's link.
fn write_report(
    examination: &Examination,
    parts: &[PhotoParts],
    task: &Task,
    record: &Record,
    folder: &Path,
    bench: &Bench<'_>,
) -> io::Result<String> {
    let not_read: Vec<NotRead> = record.not_read.iter().map(NotRead::from).collect();
    let page = html::page_of_parts(
        examination,
        parts,
        &Circumstances {
            made: bench.made,
            parameters: &said::parameters(task),
            not_read: &not_read,
            lot: Some(&format!("../{PAGE_NAME}")),
        },
    );
    let document = json::text(examination, &not_read).map_err(io::Error::other)?;
    let stem = file_stem(&task.sheet);
    let reports = folder.join(REPORTS);
    std::fs::create_dir_all(&reports)?;
    crate::whole_file::write(&reports.join(format!("{stem}.json")), document.as_bytes())?;
    crate::whole_file::write(&reports.join(format!("{stem}.html")), page.as_bytes())?;
    sync_folder(&reports);
    Ok(format!("{REPORTS}/{stem}.html"))
}

#[cfg(test)]
mod tests;
