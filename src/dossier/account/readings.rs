//! The reading that an entry keeps: what was measured, what speaks against relying on it, and the
//! author's conclusion beside it.

use crate::dossier::contents::Contents;
use crate::dossier::entry::{Conclusion, Entry, Role, Summary, process_name};
use crate::measure::lattice::Lattice;
use crate::photo::adequacy::Verdict;
use crate::report::words::{self, page};
use crate::weigh::doubt::SCREENS_SHOW_PX_PER_MM;
use crate::weigh::outside::Outside;
use crate::weigh::{Process, Reading};
use serde_json::{Value, json};
use std::collections::BTreeMap;

/// Label and value of a row.
pub type Row = (&'static str, String);

/// The reading kept with an entry: the document of `examine --json`.
///
/// # Errors
/// Why it cannot be shown, in words.
pub fn kept(contents: &dyn Contents, entry: &Entry) -> Result<Value, &'static str> {
    let mut files = entry.files.iter();
    let file = files
        .find(|file| file.role == Role::Reading)
        .ok_or("the entry names none")?;
    let bytes = contents
        .read(&file.path)
        .map_err(|_| "its file cannot be read")?;
    // What was changed since is no longer what was measured, and must not be quoted as if it were.
    if !file.digest.fits(&bytes) {
        return Err("its file was changed");
    }
    serde_json::from_slice(&bytes).map_err(|_| "its file is no JSON document")
}

/// What was measured in short, with its caveats.
pub fn reading_rows(contents: &dyn Contents, entry: &Entry, measured: &Summary) -> Vec<Row> {
    let mut rows = vec![
        ("Process, measured", measured.process_name().to_owned()),
        ("Colour, measured", measured.colouring_names()),
        ("Strength", measured.sentence.clone()),
    ];
    let screens = kept(contents, entry)
        .ok()
        .and_then(|document| screens(&document));
    rows.extend(screens.map(|said| ("Screens", said)));
    rows.extend(caveats(contents, entry));
    rows
}

/// The author's conclusion beside the measured reading.
pub fn beside(contents: &dyn Contents, entry: &Entry, conclusion: &Conclusion) -> Vec<Row> {
    let mut rows = Vec::new();
    if let Some(process) = &conclusion.process {
        rows.push(("Process, concluded", process_name(process).to_owned()));
    }
    if !conclusion.colouring.is_empty() {
        let names: Vec<_> = conclusion
            .colouring
            .iter()
            .map(|c| c.name().to_owned())
            .collect();
        rows.push(("Colour, concluded", words::list(&names)));
    }
    match &conclusion.measured {
        Some(measured) => rows.extend(reading_rows(contents, entry, measured)),
        None => rows.push(("Measured", "no photograph was measured".into())),
    }
    if let Some(because) = &conclusion.because {
        let differs = format!("In {}", words::list(&conclusion.differs_in));
        rows.push((
            "Where they differ, why",
            if conclusion.differs_in.is_empty() {
                because.clone()
            } else {
                format!("{differs}: {because}")
            },
        ));
    }
    rows
}

/// What the reading kept with an entry says against relying on it, in the words of `examine`.
pub fn caveats(contents: &dyn Contents, entry: &Entry) -> Vec<Row> {
    match kept(contents, entry) {
        Ok(document) => {
            let mut rows = caveats_of(&told(&document));
            rows.extend(averaged(&document["photos"]).map(|said| ("Averaged", said)));
            rows
        }
        // Silence would read as if there were none.
        Err(why) => vec![(
            "Caveats",
            format!(
                "The reading of entry {} cannot be shown ({why}), and with it what it says against relying on it.",
                entry.n
            ),
        )],
    }
}

/// What a reading says against relying on it, in the words of `examine`.
#[must_use]
pub fn caveats_of(reading: &Reading) -> Vec<Row> {
    let reasons: Vec<String> = reading
        .undetermined_because
        .iter()
        .map(|reason| words::sentence(reason))
        .collect();
    let cautions: Vec<String> = reading
        .cautions
        .iter()
        .map(|c| words::sentence(c))
        .collect();
    let heed = (!cautions.is_empty()).then(|| cautions.join("\n"));
    let unsettled = (!reasons.is_empty()).then(|| reasons.join("\n"));
    [
        ("Caution", heed),
        ("Unusual", words::unusual_sentence(reading)),
        ("Reproduction", words::reproduction_sentence(reading)),
        (page::UNSETTLED, unsettled),
    ]
    .into_iter()
    .filter_map(|(label, said)| Some((label, said?)))
    .collect()
}

/// The reading that a document tells, as far as its caveats rest on it.
fn told(document: &Value) -> Reading {
    let reading = &document["reading"];
    Reading {
        process: reading["process"].as_str().and_then(Process::from_key),
        posterior: by_process(&reading["posterior"]),
        prior: by_process(&reading["prior"]),
        log10_lr: by_process(&reading["log10_lr"]),
        limit_log10_lr: reading["limit_log10_lr"].as_f64().unwrap_or_default(),
        strength: reading["strength"].as_str().unwrap_or_default().to_owned(),
        fit: reading["fit"].as_f64(),
        colouring: Vec::new(),
        colouring_posterior: BTreeMap::new(),
        cautions: texts(&reading["cautions"]),
        shows_screens: reading["screens_would_show"]
            .as_bool()
            .unwrap_or_else(|| shows_screens(&document["photos"])),
        // Told with the colouring, of which no caveat speaks.
        shows_colour: true,
        lit_in_two_colours: false,
        narrowed_to: Vec::new(),
        outside: Outside::ALL
            .into_iter()
            .filter_map(|outside| Some((outside, reading[outside.key()].as_f64()?)))
            .collect(),
        undetermined_because: texts(&reading["undetermined_because"]),
        next_photographs: texts(&reading["next_photographs"]),
        findings: Vec::new(),
    }
}

fn by_process(shares: &Value) -> BTreeMap<Process, f64> {
    Process::ALL
        .into_iter()
        .filter_map(|process| Some((process, shares[process.key()].as_f64()?)))
        .collect()
}

fn texts(list: &Value) -> Vec<String> {
    let items = list.as_array().into_iter().flatten();
    items
        .filter_map(|item| item.as_str().map(str::to_owned))
        .collect()
}

/// The screens that were found, in the words of `examine`; none where none were, or where they were kept in a form that
/// is no longer known.
fn screens(document: &Value) -> Option<String> {
    let photos = document["photos"].as_array()?;
    let found = |photo: &Value| {
        // Of one photograph alone the measurements stand beside it.
        let of_photo = photo.get("measurements").filter(|m| !m.is_null());
        let measurements = of_photo.unwrap_or(&document["measurements"]);
        let lattice = serde_json::from_value(measurements["lattice"].clone()).ok()?;
        Some((photo["file"].as_str()?.to_owned(), lattice))
    };
    let found: Option<Vec<(String, Lattice)>> = photos.iter().map(found).collect();
    words::screens_sentence_of(&found?)
}

/// Which photographs were averaged before measuring, if any.
fn averaged(photos: &Value) -> Option<String> {
    let photos = photos.as_array().into_iter().flatten();
    let said: Vec<String> = photos
        .filter_map(|photo| {
            let by = photo["binned_by"].as_u64().filter(|by| *by > 1)?;
            let file = photo["file"].as_str().unwrap_or("a photograph");
            Some(format!(
                "{file} is blurred over several pixels: means of {by}\u{a0}×\u{a0}{by} pixels were measured."
            ))
        })
        .collect();
    (!said.is_empty()).then(|| said.join("\n"))
}

/// Whether a screen could have been seen in any of the photographs, by the two figures that decide it: documents written
/// before 2026-11-28 have no word of it.
fn shows_screens(photos: &Value) -> bool {
    let unusable = json!(Verdict::Unusable);
    let may = |photo: &Value| {
        let scale = photo["px_per_mm"]["value"].as_f64();
        photo["adequacy"]["verdict"] != unusable
            && scale.is_none_or(|px_per_mm| px_per_mm >= SCREENS_SHOW_PX_PER_MM)
    };
    photos.as_array().is_some_and(|all| all.iter().any(may))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::examine::Examination;
    use crate::report::{example, json as document};

    fn rows(examination: &Examination) -> Vec<Row> {
        let text = document::text(examination, &[]).unwrap();
        caveats_of(&told(&serde_json::from_str(&text).unwrap()))
    }

    #[test]
    fn a_photograph_that_was_averaged_first_is_named() {
        let mut examination = example::stipple();
        let said = |examination: &Examination| {
            let text = document::text(examination, &[]).unwrap();
            let document: Value = serde_json::from_str(&text).unwrap();
            averaged(&document["photos"])
        };
        assert_eq!(said(&examination), None);
        examination.photos[0].photo.binning.by = 3;
        let said = said(&examination).expect("it is told");
        let file = document::text(&examination, &[]).unwrap();
        let file: Value = serde_json::from_str(&file).unwrap();
        let name = file["photos"][0]["file"].as_str().expect("a name");
        assert!(
            said.starts_with(name) && said.contains("3\u{a0}×\u{a0}3"),
            "{said}"
        );
    }

    #[test]
    fn a_document_says_the_screens_that_the_report_names() {
        let mut examination = example::stipple();
        for photos in 1..=2 {
            let text = document::text(&examination, &[]).unwrap();
            let said = screens(&serde_json::from_str(&text).unwrap());
            assert_eq!(said, words::screens_sentence(&examination.photos));
            assert!(
                said.is_some(),
                "the example shows a screen, photographs: {photos}"
            );
            examination.photos.extend(example::stipple().photos);
        }
        assert_eq!(screens(&Value::Null), None);
    }

    #[test]
    fn a_document_says_the_caveats_that_the_reading_said() {
        let mut examination = example::stipple();
        for (read, fit, halftone) in [
            (Some(Process::StippleEngraving), Some(0.41), 0.0001),
            (Some(Process::StippleEngraving), Some(0.043), 0.0001),
            (Some(Process::Halftone), Some(0.41), 0.98),
            (None, Some(0.2), 0.08),
            (None, Some(0.001), 0.08),
            (None, None, 0.08),
        ] {
            let reading = &mut examination.reading;
            reading.process = read;
            reading.fit = fit;
            reading.posterior.insert(Process::Halftone, halftone);
            reading.undetermined_because = match read {
                Some(_) => Vec::new(),
                None => vec!["a screen of dots was found".into(), "it is odd".into()],
            };
            let told = rows(&examination);
            let said = |label: &str| {
                let row = told.iter().find(|(known, _)| *known == label);
                row.map(|(_, said)| said.clone())
            };
            let reading = &examination.reading;
            assert_eq!(said("Unusual"), words::unusual_sentence(reading));
            assert_eq!(said("Reproduction"), words::reproduction_sentence(reading));
            let reasons = read
                .is_none()
                .then(|| "A screen of dots was found.\nIt is odd.".to_owned());
            assert_eq!(said(page::UNSETTLED), reasons);
        }
    }

    /// Of a document that has no word of whether a screen would show.
    fn of_an_old_document(examination: &Examination) -> Vec<Row> {
        let text = document::text(examination, &[]).unwrap();
        let mut document: Value = serde_json::from_str(&text).unwrap();
        let reading = document["reading"].as_object_mut().expect("a reading");
        assert!(reading.remove("screens_would_show").is_some());
        caveats_of(&told(&document))
    }

    #[test]
    fn where_no_screen_could_be_seen_a_document_excludes_no_reproduction() {
        let mut examination = example::stipple();
        examination.reading.shows_screens = false;
        let expected = words::reproduction_sentence(&examination.reading);
        assert!(
            expected
                .as_ref()
                .is_some_and(|s| s.contains("cannot be told"))
        );
        // Of the photographs by themselves one might think that a screen would show: nothing was weighed on that one.
        let said = rows(&examination);
        assert_eq!(Some(&said[0].1), expected.as_ref());
        if let Some(scale) = &mut examination.photos[0].photo.scale {
            scale.value = SCREENS_SHOW_PX_PER_MM - 1.0;
        }
        assert_eq!(of_an_old_document(&examination), said);
        examination.photos[0].photo.scale = None;
        examination.photos[0].photo.adequacy.verdict = Verdict::Unusable;
        assert_eq!(of_an_old_document(&examination), said);
    }

    #[test]
    fn what_is_no_reading_excludes_no_reproduction() {
        let rows = caveats_of(&told(&Value::Null));
        assert!(rows[0].1.contains("cannot be told"), "{rows:?}");
    }
}
