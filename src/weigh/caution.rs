//! What must be told beside a reading, whatever it is.

use super::bearing::{may_show_screens, too_poor};
use super::doubt::{self, SCREENS_SHOW_PX_PER_MM};
use super::reading::{FITS, Process};
use crate::measure::Examined;

/// What cautions rest on.
pub struct Told<'a> {
    /// The photographs, each file once.
    pub photos: &'a [&'a Examined],
    /// Those of them that the reading rests on.
    pub rested_on: &'a [&'a Examined],
    /// Probabilities of the processes from each alone at equal odds.
    pub alone: &'a [Vec<f64>],
    /// Share of the specimens of its own likeliest process that lie as far out as each; none where nothing was weighed.
    pub fits: &'a [Option<f64>],
    /// The process read.
    pub process: Option<Process>,
}

/// The cautions, gravest first.
#[must_use]
pub fn told(of: &Told) -> Vec<String> {
    [
        without_scale(of),
        two_sheets(of),
        strays(of),
        screens(of),
        poor(of),
        no_paper_beside(of),
    ]
    .into_iter()
    .flatten()
    .collect()
}

/// A period print, or a reproduction excluded, where nobody knows whether a screen would show.
fn without_scale(of: &Told) -> Option<String> {
    let unscaled = |photo: &&&Examined| photo.photo.scale.is_none();
    if of.process == Some(Process::Halftone) || of.photos.is_empty() {
        return None;
    }
    if of.photos.iter().all(|photo| unscaled(&photo)) {
        return Some(told_without_scale());
    }
    let vouching = || of.rested_on.iter().filter(|photo| may_show_screens(photo));
    let none_is_known = vouching().next().is_some() && vouching().all(|photo| unscaled(&photo));
    none_is_known.then(|| {
        format!(
            "Only {} could show a fine screen, and no scale was given for that, so nobody knows whether one would show. {}",
            named(vouching().copied()),
            what_holds_without_scale()
        )
    })
}

/// What is told where no photograph has a scale, word for word: a lot without any tells it once.
#[must_use]
pub fn told_without_scale() -> String {
    format!(
        "No scale was given, so nobody knows whether a fine screen would show. {}",
        what_holds_without_scale()
    )
}

fn what_holds_without_scale() -> String {
    format!(
        "Below {SCREENS_SHOW_PX_PER_MM:.0} pixels per mm, as in many scans of whole pages, neither a period process nor a low chance of a reproduction holds: real scans so coarse were misread"
    )
}

fn two_sheets(of: &Told) -> Option<String> {
    doubt::contradict(of.alone).then(|| {
        let side = |of_side: &dyn Fn(f64) -> bool| {
            let with = of.photos.iter().zip(of.alone);
            let chosen = with.filter(|(_, alone)| of_side(alone[Process::Halftone as usize]));
            named(chosen.map(|(photo, _)| *photo))
        };
        format!(
            "The photographs contradict each other: by themselves some speak for a reproduction ({}) and others for a period print ({}). They may be of two sheets",
            side(&|p| p >= doubt::SURE_ENOUGH),
            side(&|p| p <= 1.0 - doubt::SURE_ENOUGH)
        )
    })
}

/// Photographs that are like none of the five beside others that are like one. One on which nothing was weighed, such as a
/// blank margin, sways nothing.
fn strays(of: &Told) -> Option<String> {
    let is_stray = |fit: &Option<f64>| fit.is_some_and(|p| p < FITS);
    let fits = |fit: &Option<f64>| fit.is_some_and(|p| p >= FITS);
    if !(of.fits.iter().any(fits) && of.fits.iter().any(is_stray)) {
        return None;
    }
    let strays = of
        .photos
        .iter()
        .zip(of.fits)
        .filter(|(_, fit)| is_stray(fit));
    let strays: Vec<&Examined> = strays.map(|(photo, _)| *photo).collect();
    let [itself, is, it_is] = match strays.len() {
        1 => ["itself", "is", "it is"],
        _ => ["themselves", "are", "they are"],
    };
    Some(format!(
        "Seen by {itself}, {} {is} like none of the five processes, yet {it_is} weighed with the others: leave out what does not show the print",
        named(strays.into_iter())
    ))
}

/// Screens beside a reading that is no reproduction.
fn screens(of: &Told) -> Option<String> {
    let screened = |photo: &&&Examined| !photo.measurements.lattice.inks.is_empty();
    let names = named(of.photos.iter().filter(screened).copied());
    (of.process != Some(Process::Halftone) && !names.is_empty()).then(|| {
        format!(
            "In {names} something repeats as regularly as a printing screen. Even hatching, ruled skies, cloth, and laid or wove paper can do so: look at it through the loupe before you rely on this"
        )
    })
}

/// A process that is named though no photograph can bear measuring.
fn poor(of: &Told) -> Option<String> {
    let unusable = |photo: &&Examined| too_poor(photo);
    (of.process.is_some() && of.rested_on.iter().all(unusable)).then(|| {
        "Only the screen stands out: the photograph is too poor for anything else measured on it to be relied on".to_owned()
    })
}

/// A lithograph called plain though its ground is of one colour wherever it was photographed. Of 24
/// tinted lithographs drawn at 4000 × 3000 the one whose tint covers the whole frame was read as plain.
fn no_paper_beside(of: &Told) -> Option<String> {
    let of_one_colour = |photo: &&Examined| photo.measurements.film.levels <= 1;
    (of.process == Some(Process::Lithograph) && of.photos.iter().all(of_one_colour)).then(|| {
        "The ground is of one colour throughout: a tint printed over all that was photographed would look like paper. Photograph the edge of the image with the bare margin beside it before you call the sheet untinted".to_owned()
    })
}

fn named<'a>(photos: impl Iterator<Item = &'a Examined>) -> String {
    let names: Vec<&str> = photos.map(|p| p.photo.provenance.file.as_str()).collect();
    names.join(", ")
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::report::example;

    #[test]
    fn strays_are_told_as_many_as_they_are() {
        let photo = &example::stipple().photos[0];
        let said = |fits: &[Option<f64>]| {
            let photos = vec![photo; fits.len()];
            let of = Told {
                photos: &photos,
                rested_on: &photos,
                alone: &[],
                fits,
                process: None,
            };
            strays(&of).unwrap_or_default()
        };
        let one = said(&[Some(0.5), Some(0.001)]);
        assert!(
            one.contains("by itself, plate-7.png is like") && one.contains("yet it is"),
            "{one}"
        );
        let two = said(&[Some(0.5), Some(0.001), Some(0.002)]);
        let many = "by themselves, plate-7.png, plate-7.png are like none";
        assert!(two.contains(many) && two.contains("yet they are"), "{two}");
    }
}
