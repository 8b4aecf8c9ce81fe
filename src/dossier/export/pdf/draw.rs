//! Pages into the file.

use super::PdfError;
use super::flow::FOOT_SIZE;
use super::page::{Colour, Mark, Pages};
use super::typeset::{Cut, Faces};
use crate::dossier::account::Account;
use jiff::Timestamp;
use jiff::tz::TimeZone;
use krilla::Document;
use krilla::SerializeSettings;
use krilla::color::rgb;
use krilla::configure::{Archival, ConfigurationBuilder};
use krilla::geom::{PathBuilder, Point, Rect, Size, Transform};
use krilla::image::Image;
use krilla::metadata::{DateTime, Metadata};
use krilla::page::PageSettings;
use krilla::paint::Fill;
use krilla::surface::Surface;

/// Distance of the foot's baselines as a share of the size.
const LEADING: f32 = 1.34;

/// Writes the file.
pub fn file(
    faces: &Faces,
    pages: Pages,
    account: &Account,
    made: Timestamp,
) -> Result<Vec<u8>, PdfError> {
    // PDF/A-2b (ISO 19005-2): made to be read in decades, everything inside the file.
    let configuration = ConfigurationBuilder::new()
        .with_archival_validator(Archival::A2_B)
        .finish()
        .map_err(|e| PdfError::Standard(format!("{e:?}")))?;
    let mut document = Document::new_with(SerializeSettings {
        configuration,
        ..SerializeSettings::default()
    });
    document.set_metadata(metadata(account, made));
    let count = pages.pages.len();
    let (size, margin, foot_top) = (pages.size, pages.margin, pages.foot_top);
    for (index, page) in pages.pages.into_iter().enumerate() {
        let settings = PageSettings::from_wh(size.0, size.1)
            .ok_or_else(|| PdfError::Standard("no size of page".into()))?;
        let mut sheet = document.start_page_with(settings);
        let mut surface = sheet.surface();
        for mark in page.marks {
            set(&mut surface, faces, mark);
        }
        foot(
            &mut surface,
            faces,
            &pages.foot,
            (size.0, margin, foot_top),
            (index + 1, count),
        );
        surface.finish();
        sheet.finish();
    }
    document
        .finish()
        .map_err(|e| PdfError::Standard(format!("{e:?}")))
}

fn metadata(account: &Account, made: Timestamp) -> Metadata {
    let date = made.to_zoned_datetime(TimeZone::UTC);
    let created = DateTime::new(date.year().unsigned_abs())
        .month(date.month().unsigned_abs())
        .day(date.day().unsigned_abs())
        .hour(date.hour().unsigned_abs())
        .minute(date.minute().unsigned_abs())
        .second(date.second().unsigned_abs())
        .utc_offset_hour(0)
        .utc_offset_minute(0);
    Metadata::new()
        .title(format!("Dossier: {}", account.title))
        .language("en".into())
        .creator(concat!("inktell ", env!("CARGO_PKG_VERSION")).into())
        .creation_date(created)
        .document_id(account.foot.sha256.clone())
}

fn fill(surface: &mut Surface<'_>, colour: Colour) {
    let (red, green, blue) = colour.rgb();
    surface.set_fill(Some(Fill {
        paint: rgb::Color::new(red, green, blue).into(),
        ..Fill::default()
    }));
}

fn set(surface: &mut Surface<'_>, faces: &Faces, mark: Mark) {
    match mark {
        Mark::Text {
            cut,
            size,
            colour,
            x,
            y,
            text,
        } => {
            fill(surface, colour);
            line(surface, faces, (cut, size), (x, y), &text);
        }
        Mark::Box {
            colour,
            x,
            y,
            width,
            height,
        } => {
            fill(surface, colour);
            rectangle(surface, x, y, width, height);
        }
        Mark::Picture {
            figure,
            x,
            y,
            width,
        } => {
            let height = width * figure.height_px as f32 / figure.width_px.max(1) as f32;
            // The JPEG is this program's own, so that one that cannot be read is an empty frame.
            let Ok(image) = Image::from_jpeg(figure.jpeg.into(), false) else {
                return;
            };
            let Some(size) = Size::from_wh(width, height) else {
                return;
            };
            surface.push_transform(&Transform::from_translate(x, y));
            surface.draw_image(image, size);
            surface.pop();
        }
    }
}

fn line(surface: &mut Surface<'_>, faces: &Faces, face: (Cut, f32), at: (f32, f32), text: &str) {
    let run = faces.shape(face.0, text);
    if run.glyphs.is_empty() {
        return;
    }
    surface.draw_glyphs(
        Point::from_xy(at.0, at.1),
        &run.glyphs,
        faces.font(face.0),
        &run.text,
        face.1,
        false,
    );
}

fn rectangle(surface: &mut Surface<'_>, x: f32, y: f32, width: f32, height: f32) {
    let Some(rect) = Rect::from_xywh(x, y, width, height) else {
        return;
    };
    let mut path = PathBuilder::new();
    path.push_rect(rect);
    if let Some(path) = path.finish() {
        surface.draw_path(&path);
    }
}

/// Number, hash and signers at the foot of a page.
fn foot(
    surface: &mut Surface<'_>,
    faces: &Faces,
    lines: &[String],
    (page_width, margin, top): (f32, f32, f32),
    (number, count): (usize, usize),
) {
    fill(surface, Colour::Hair);
    rectangle(surface, margin, top - 5.0, page_width - 2.0 * margin, 0.5);
    fill(surface, Colour::Soft);
    for (index, text) in lines.iter().enumerate() {
        let y = top + (index as f32 + 0.8) * FOOT_SIZE * LEADING;
        line(surface, faces, (Cut::Mono, FOOT_SIZE), (margin, y), text);
    }
    let text = format!("page {number} of {count}");
    let size = 8.0;
    let x = page_width - margin - faces.width(Cut::Regular, size, &text);
    let y = top + (lines.len() as f32 - 0.2) * FOOT_SIZE * LEADING;
    line(surface, faces, (Cut::Regular, size), (x, y), &text);
}
