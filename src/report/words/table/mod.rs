//! The table of titles and glosses, a file a subject.

mod film;
mod grain;
mod layering;
mod lines;
mod marks;
mod photograph;
mod screens;

/// Last part of a key, title, gloss.
pub type Named = (&'static str, &'static str, &'static str);

/// What is said of every subject.
const COMMON: &[Named] = &[("kind", "Kind", ""), ("ink", "Ink", "")];

/// The subjects. Their order, and the order in each, is the order in reports.
const SUBJECTS: [&[Named]; 8] = [
    COMMON,
    screens::TITLES,
    marks::TITLES,
    lines::TITLES,
    grain::TITLES,
    film::TITLES,
    layering::TITLES,
    photograph::TITLES,
];

/// All titles of measurements, in the order of reports.
pub fn titles() -> impl Iterator<Item = &'static Named> {
    SUBJECTS.into_iter().flatten()
}
