//! Photographs at print resolution.

use crate::dossier::account::Shown;
use crate::dossier::contents::Contents;
use crate::dossier::examining::{self, Named};
use crate::examine::Examined;
use crate::measure::segment;
use crate::report::html::viewer;
use crate::report::picture::{self, Window};
use base64::Engine;

/// A picture to be set on a page.
pub struct Figure {
    /// JPEG file.
    pub jpeg: Vec<u8>,
    /// Width, px.
    pub width_px: usize,
    /// Height, px.
    pub height_px: usize,
    /// Pixels of the picture per millimetre on the sheet; none where the scale is unknown.
    pub px_per_mm: Option<f64>,
    /// Where the window begins in the photograph, px from the left and the top.
    pub from_px: (usize, usize),
}

/// A photograph whole, reduced to a longest side, and its most telling detail pixel for pixel.
pub struct Pair {
    /// The whole.
    pub whole: Figure,
    /// The detail; none of a photograph so small that it would be the whole once more.
    pub detail: Option<Figure>,
}

/// Examines a photograph again for showing.
///
/// # Errors
/// A sentence that names the photograph.
pub fn examined(contents: &dyn Contents, shown: &Shown) -> Result<Examined, String> {
    let named = |file: &crate::dossier::entry::FileRef| {
        contents
            .read(&file.path)
            .map(|bytes| Named {
                name: file.name.clone(),
                bytes,
            })
            .map_err(|e| format!("{} cannot be shown ({e})", file.name))
    };
    let rule = shown.rule.as_ref().map(named).transpose()?;
    let photos = [named(&shown.file)?];
    let mut examined = examining::each(&photos, rule.as_ref(), &shown.parameters)?;
    examined
        .pop()
        .ok_or_else(|| format!("{} cannot be shown", shown.file.name))
}

/// Both pictures of a photograph.
///
/// # Errors
/// A sentence that names the photograph.
pub fn pair(examined: &Examined, longest_px: usize) -> Result<Pair, String> {
    let photo = &examined.photo;
    let segments = segment::find(&examined.inked);
    let whole = Window::whole(photo);
    let detail = Some(viewer::telling_window(&segments, photo)).filter(|detail| *detail != whole);
    Ok(Pair {
        whole: figure(examined, whole, longest_px)?,
        detail: detail
            .map(|window| figure(examined, window, window.width.max(window.height)))
            .transpose()?,
    })
}

fn figure(examined: &Examined, window: Window, longest_px: usize) -> Result<Figure, String> {
    let photo = &examined.photo;
    let none = || format!("{} holds no pixels to show", photo.provenance.file);
    let address = picture::jpeg(photo, window, longest_px).ok_or_else(none)?;
    let text = address.split_once(',').ok_or_else(none)?.1;
    let jpeg = base64::engine::general_purpose::STANDARD
        .decode(text)
        .map_err(|_| none())?;
    let (width_px, height_px) = window.reduced(longest_px);
    let reduced = width_px as f64 / window.width.max(1) as f64;
    Ok(Figure {
        jpeg,
        width_px,
        height_px,
        px_per_mm: photo.scale.as_ref().map(|scale| scale.value * reduced),
        from_px: (
            window.left * photo.binning.by,
            window.top * photo.binning.by,
        ),
    })
}
