//! The report as one page: no other file, no network, no script.
//!
//! - [`summary`]: the reading, and how far it is supported.
//! - [`viewer`]: a photograph with switchable layers; side by side with them in print.
//! - [`weighing`]: the table of what was weighed.
//! - [`measured`]: charts and tables of everything measured.
//! - [`closing`]: next photographs, cautions, provenance.

mod closing;
mod measured;
mod summary;
pub(crate) mod viewer;
mod weighing;

use super::json::NotRead;
use super::words;
use crate::examine::{Examination, Examined};
use maud::{DOCTYPE, Markup, PreEscaped, html};

const STYLE: &str = include_str!("style.css");

/// What the page says besides the examination.
pub struct Circumstances<'a> {
    /// When the report was made, as it is to be printed.
    pub made: &'a str,
    /// What the user asked for: label and value.
    pub parameters: &'a [(String, String)],
    /// Photographs that could not be read.
    pub not_read: &'a [NotRead],
    /// Link to the lot sheet, where the report is of a sheet of a lot.
    pub lot: Option<&'a str>,
}

/// What the page says of one photograph, made while its pixels are at hand.
pub struct PhotoParts {
    photograph: Markup,
    everything: Markup,
}

impl PhotoParts {
    /// Draws the parts for photograph `index` (0-based) of `count`.
    #[must_use]
    pub fn new(examined: &Examined, index: usize, count: usize) -> Self {
        Self {
            photograph: viewer::photograph(examined, index, count),
            everything: measured::everything(examined, index, count),
        }
    }
}

/// The whole page. The same examination and circumstances give the same bytes.
#[must_use]
pub fn page(examination: &Examination, circumstances: &Circumstances<'_>) -> String {
    let count = examination.photos.len();
    let parts: Vec<_> = (examination.photos.iter().enumerate())
        .map(|(index, examined)| PhotoParts::new(examined, index, count))
        .collect();
    page_of_parts(examination, &parts, circumstances)
}

/// The whole page from parts drawn before; the examination's pixels may be gone by then.
#[must_use]
pub fn page_of_parts(
    examination: &Examination,
    parts: &[PhotoParts],
    circumstances: &Circumstances<'_>,
) -> String {
    let title = format!(
        "{}: {}",
        words::headline(&examination.reading),
        photographs_named(examination)
    );
    let page: Markup = html! {
        (DOCTYPE)
        html lang="en" {
            head {
                meta charset="utf-8";
                meta name="viewport" content="width=device-width, initial-scale=1";
                meta name="generator" content={ "inktell " (env!("CARGO_PKG_VERSION")) };
                title { (title) }
                style { (PreEscaped(STYLE)) }
            }
            body {
                main {
                    (summary::head(examination, circumstances))
                    (summary::reading(examination))
                    @for part in parts { (part.photograph) }
                    (weighing::table(&examination.reading, examination.photos.len()))
                    (closing::against(&examination.reading))
                    (closing::next(&examination.reading))
                    @for part in parts { (part.everything) }
                    (closing::cautions())
                    (closing::provenance(examination, circumstances))
                }
            }
        }
    };
    page.into_string()
}

fn photographs_named(examination: &Examination) -> String {
    let names: Vec<_> = examination
        .photos
        .iter()
        .map(|p| p.photo.provenance.file.clone())
        .collect();
    words::list(&names)
}

/// Heading of a part that belongs to one photograph; numbered where there are several.
fn heading(title: &str, file: &str, index: usize, count: usize) -> Markup {
    html! {
        h2 {
            (title)
            @if count > 1 { span class="of" { " " (index + 1) " of " (count) ": " (file) } }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::report::example;
    use crate::report::words::page::WEIGHED_APART;
    use crate::weigh::outside::Outside;

    const CIRCUMSTANCES: Circumstances<'_> = Circumstances {
        made: "2 January 2026, 10:00 UTC",
        parameters: &[],
        not_read: &[],
        lot: None,
    };

    #[test]
    fn the_page_needs_nothing_but_itself() {
        let page = page(&example::stipple(), &CIRCUMSTANCES);
        for outside in ["http://", "https://", "<script", "<link", "@import", "url("] {
            assert!(!page.contains(outside), "{outside}");
        }
        assert!(page.contains("strong support for a stipple engraving"));
        assert!(page.contains("2 January 2026, 10:00 UTC"));
    }

    #[test]
    fn a_report_of_a_lot_leads_back_to_it() {
        let link = "<a href=\"../lot.html\">Back to the lot sheet</a>";
        assert!(!page(&example::stipple(), &CIRCUMSTANCES).contains(link));
        let of_a_lot = Circumstances {
            lot: Some("../lot.html"),
            ..CIRCUMSTANCES
        };
        assert!(page(&example::stipple(), &of_a_lot).contains(link));
    }

    #[test]
    fn the_same_examination_gives_the_same_bytes() {
        let first = page(&example::stipple(), &CIRCUMSTANCES);
        assert_eq!(first, page(&example::stipple(), &CIRCUMSTANCES));
    }

    #[test]
    fn text_from_a_file_cannot_become_markup() {
        let mut examination = example::stipple();
        examination.photos[0].photo.provenance.file = "<script>x</script>.jpg".into();
        examination.photos[0].photo.provenance.capture =
            vec![("camera".into(), "\"><img src=x>".into())];
        let page = page(&examination, &CIRCUMSTANCES);
        assert!(!page.contains("<script>") && !page.contains("<img src=x>"));
    }

    #[test]
    fn missing_figures_are_shown_with_their_reason() {
        let mut examination = example::stipple();
        examination.photos[0].measurements.marks.clark_evans =
            crate::measured::Measured::missing("only 3 marks in the usable field, 20 needed");
        let page = page(&examination, &CIRCUMSTANCES);
        assert!(page.contains("only 3 marks in the usable field, 20 needed"));
    }

    #[test]
    fn an_undetermined_reading_says_why_and_leads_with_it() {
        let mut examination = example::stipple();
        examination.reading.process = None;
        examination.reading.undetermined_because = vec!["the marks are too few".into()];
        let page = page(&examination, &CIRCUMSTANCES);
        assert!(page.contains("<h1>Undetermined</h1>"));
        assert!(page.contains("The marks are too few."));
    }

    #[test]
    fn what_speaks_against_it_says_against_what() {
        let mut examination = example::stipple();
        let named = page(&examination, &CIRCUMSTANCES);
        assert!(named.contains("<h2>What speaks against a stipple engraving</h2>"));
        assert!(named.contains("What carries the reading") && !named.contains(WEIGHED_APART));
        // Headed "most like a woodcut", a weight against the engraving would pass for one against the woodcut.
        examination.reading.process = None;
        examination.reading.outside = [(Outside::Relief, 0.97)].into();
        let most_like = page(&examination, &CIRCUMSTANCES);
        for heading in [
            "What speaks against a stipple engraving, the nearest of the five",
            "What speaks for and against a stipple engraving, the nearest of the five",
            WEIGHED_APART,
        ] {
            assert!(most_like.contains(heading), "{heading}");
        }
    }
}
