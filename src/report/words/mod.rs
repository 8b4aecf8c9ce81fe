//! Every sentence and label that a person reads, in the trade's language.
//!
//! - [`titles`]: names and glosses of what is measured, from [`table`].
//! - [`reading`]: the reading and its weights as sentences.
//! - [`screens`]: the screens that were found.
//! - [`support`]: how far the reading is supported.
//! - [`page`]: headings and standing sentences of the page.
//! - [`standing`]: what stands in every report: cautions, how to read it, aids to the charts.

pub mod page;
pub mod reading;
pub mod screens;
pub mod standing;
pub mod support;
pub mod table;
pub mod titles;

pub use reading::{
    NONE_FOUND, colouring_sentence, finding_value, headline, is_slight, is_slight_for,
    priors_are_equal, priors_sentence, reference_sentence, reproduction_sentence, unusual_sentence,
    weighed_for,
};
pub use screens::{screens_sentence, screens_sentence_of};
pub use support::support_sentence;
pub use titles::{group_gloss, group_title, ink_name, stated, title_of};

use super::figures;
use crate::examine::Examined;
use crate::photo::adequacy::Verdict;
use crate::photo::scale::{MM_PER_INCH, Scale, ScaleSource};
use crate::weigh::doubt::SCREENS_SHOW_PX_PER_MM;

/// Key of a reading that could not be made.
pub const UNDETERMINED_KEY: &str = "undetermined";

/// Joins words as a sentence does: "a", "a and b", "a, b and c".
#[must_use]
pub fn list(items: &[String]) -> String {
    match items {
        [] => String::new(),
        [only] => only.clone(),
        [first @ .., last] => format!("{} and {last}", first.join(", ")),
    }
}

/// The text with its first letter large.
#[must_use]
pub fn capital(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().map_or_else(String::new, |first| {
        first.to_uppercase().chain(letters).collect()
    })
}

/// The text as a sentence: first letter large, a full stop at the end.
#[must_use]
pub fn sentence(text: &str) -> String {
    let text = capital(text.trim());
    if text.is_empty() || text.ends_with(['.', '!', '?']) {
        text
    } else {
        format!("{text}.")
    }
}

/// "a" or "an", as the noun asks for.
#[must_use]
pub fn article(noun: &str) -> &'static str {
    if noun.starts_with(['a', 'e', 'i', 'o']) {
        "an"
    } else {
        "a"
    }
}

/// A photograph's verdict in plain words.
#[must_use]
pub fn verdict(verdict: Verdict) -> &'static str {
    match verdict {
        Verdict::Good => "good for measuring",
        Verdict::Marginal => "of limited use for measuring",
        Verdict::Unusable => "too poor to rely on",
    }
}

/// Where a scale comes from, in plain words.
#[must_use]
pub fn scale_source(source: ScaleSource) -> &'static str {
    match source {
        ScaleSource::Given => "as given by the user",
        ScaleSource::LoupeField => "from the loupe's field",
        ScaleSource::Rule => "measured from a rule",
        ScaleSource::ResolutionTag => "from the scan's resolution tag",
    }
}

/// Pixels per mm beyond which hardly a loupe leads, only a microscope: a 20× loupe before a phone gives some 250 (from
/// own trials; no source).
const FINEST_OF_A_LOUPE: f64 = 260.0;
/// Resolutions that scanners are set to, pixels per inch (common practice): given as pixels per mm they are a slip.
const SET_PPI: [f64; 8] = [72.0, 96.0, 150.0, 200.0, 240.0, 300.0, 400.0, 600.0];
/// Pixels per mm under which nothing of how a sheet was printed is seen: a scan at 150 ppi has six.
const COARSEST_OF_A_LOUPE: f64 = 4.0;

/// What makes a scale doubtful, or what is taken for granted without one, as a sentence.
#[must_use]
pub fn scale_caution(scale: Option<&Scale>) -> Option<String> {
    let Some(scale) = scale else {
        return Some(format!(
            "Without a scale it is taken for granted that a fine screen would show, for which {SCREENS_SHOW_PX_PER_MM:.0} px/mm are needed."
        ));
    };
    if scale.source == ScaleSource::ResolutionTag {
        return Some("The scale is what the file says of its own resolution, which is kept when a scan is reduced or enlarged: check it against something measured on the sheet.".into());
    }
    if scale.value < COARSEST_OF_A_LOUPE {
        return Some(format!(
            "At {} pixels per mm nothing of how a sheet was printed is seen: is the figure a slip?",
            figures::plain(scale.value)
        ));
    }
    let given = scale.source == ScaleSource::Given;
    let set = given && SET_PPI.contains(&scale.value);
    (set || scale.value > FINEST_OF_A_LOUPE).then(|| {
        format!(
            "So many pixels per mm ({}) few loupes give: if they are pixels per inch, the scale is {} px/mm.",
            figures::plain(scale.value),
            figures::plain(scale.value / MM_PER_INCH)
        )
    })
}

/// That photographs are the same file, as a sentence; none where each is another.
#[must_use]
pub fn repeated(photos: &[Examined]) -> Option<String> {
    let mut files: Vec<&str> = photos
        .iter()
        .map(|p| p.photo.provenance.sha256.as_str())
        .collect();
    files.sort_unstable();
    files.dedup();
    let again = photos.len() - files.len();
    (again > 0).then(|| {
        format!(
            "{} the same file as another and {} weighed.",
            if again == 1 {
                "One photograph is".into()
            } else {
                format!("{again} photographs are")
            },
            if again == 1 { "is not" } else { "are not" },
        )
    })
}

/// That pixels were averaged before measuring, after a full stop; nothing where none were.
#[must_use]
pub fn binned(by: usize) -> String {
    if by < 2 {
        return String::new();
    }
    format!(
        " Its blur spans several pixels, so squares of {by}\u{a0}×\u{a0}{by} pixels were averaged before measuring; nothing that the lens resolved is lost by it."
    )
}

/// Members of a list that are not shown one by one.
#[must_use]
pub fn further(count: usize) -> String {
    format!("{count} more, smaller ones, in the JSON document")
}

/// A count with its noun: "1 photograph", "3 photographs", "2 entries".
#[must_use]
pub fn counted(count: usize, noun: &str) -> String {
    let after_consonant = |stem: &&str| !stem.ends_with(['a', 'e', 'o', 'u']);
    match noun.strip_suffix('y').filter(after_consonant) {
        _ if count == 1 => format!("1 {noun}"),
        Some(stem) => format!("{count} {stem}ies"),
        None => format!("{count} {noun}s"),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_scale_that_may_be_wrong_is_said_to_be() {
        let scale = |value, source| Scale {
            value,
            lo: value,
            hi: value,
            source,
        };
        let said = |value, source| scale_caution(Some(&scale(value, source))).unwrap_or_default();
        assert!(said(47.2, ScaleSource::ResolutionTag).contains("reduced"));
        let slip = said(2768.6, ScaleSource::Given);
        assert!(slip.contains("the scale is 109 px/mm"), "{slip}");
        assert_eq!(said(250.0, ScaleSource::Given), "");
        assert_eq!(said(56.2, ScaleSource::Rule), "");
        assert!(scale_caution(None).is_some_and(|said| said.contains("20 px/mm")));
    }

    #[test]
    fn sentences_are_made_of_clauses() {
        assert_eq!(sentence("too few marks"), "Too few marks.");
        assert_eq!(sentence("Done."), "Done.");
        assert_eq!(sentence(""), "");
        let items = ["a", "b", "c"].map(str::to_owned);
        assert_eq!(list(&items), "a, b and c");
        assert_eq!(list(&items[..2]), "a and b");
        assert_eq!(counted(1, "mark"), "1 mark");
        assert_eq!(counted(0, "mark"), "0 marks");
        assert_eq!(counted(1, "entry"), "1 entry");
        assert_eq!(counted(2, "entry"), "2 entries");
        assert_eq!(counted(2, "survey"), "2 surveys");
    }
}
