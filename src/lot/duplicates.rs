//! The same file twice, and two photographs of what may be the same spot: some that are alike show two.

use super::likeness::Likeness;
use super::record::Record;
use super::spelling::look_alike;
use rayon::prelude::*;
use std::collections::BTreeMap;

/// Most photographs of which every pair is compared across sheets (some ten seconds on two cores, more where
/// many are alike at a coarse look); above, only photographs of one sheet are compared with each other.
pub const MOST_COMPARED: usize = 3000;
/// Photographs whose scales differ by more than this share cannot show the same width of one spot.
const SAME_SCALE: f64 = 0.12;

/// A photograph's place: sheet and number in it.
type Place = (usize, usize);

/// What is found twice, as sentences for each record.
#[must_use]
pub fn find(records: &[Record]) -> Vec<Vec<String>> {
    let mut said = vec![Vec::new(); records.len()];
    for places in same_files(records) {
        for (index, place) in places.iter().enumerate() {
            // On one sheet it is said once, of the last.
            if places[index + 1..].iter().any(|later| later.0 == place.0) {
                continue;
            }
            let others = places.iter().filter(|other| *other != place);
            let names: Vec<String> = others.map(|p| seen_from(records, *place, *p)).collect();
            said[place.0].push(format!(
                "{} is the same file as {}.",
                name(records, *place),
                some(&names)
            ));
        }
    }
    let mut spots: BTreeMap<Place, Vec<Place>> = BTreeMap::new();
    for (a, b) in same_spots(records) {
        // On one sheet it is said once, of the later one.
        spots.entry(b).or_default().push(a);
        if a.0 != b.0 {
            spots.entry(a).or_default().push(b);
        }
    }
    for (here, there) in spots {
        let names: Vec<String> = there.iter().map(|p| seen_from(records, here, *p)).collect();
        said[here.0].push(format!(
            "{} may show the same spot as {}: look before you set one aside.",
            name(records, here),
            some(&names)
        ));
    }
    said
}

/// A photograph's name as another's sheet tells it: with its sheet where the names are the same.
fn seen_from(records: &[Record], here: Place, there: Place) -> String {
    let own = name(records, there);
    if look_alike(own, name(records, here)) {
        format!("that of sheet \u{201c}{}\u{201d}", records[there.0].sheet)
    } else {
        own.to_owned()
    }
}

fn name(records: &[Record], (sheet, photo): Place) -> &str {
    &records[sheet].photos[photo].file
}

/// The first few names; the rest counted.
fn some(names: &[String]) -> String {
    const NAMED: usize = 3;
    let first: Vec<String> = names.iter().take(NAMED).cloned().collect();
    match names.len().saturating_sub(NAMED) {
        0 => crate::report::words::list(&first),
        more => format!("{} and {more} more", first.join(", ")),
    }
}

fn photos(records: &[Record]) -> impl Iterator<Item = (Place, &super::record::Seen)> {
    records.iter().enumerate().flat_map(|(s, record)| {
        record
            .photos
            .iter()
            .enumerate()
            .map(move |(p, seen)| ((s, p), seen))
    })
}

fn same_files(records: &[Record]) -> Vec<Vec<Place>> {
    let mut by_bytes: BTreeMap<&str, Vec<Place>> = BTreeMap::new();
    for (place, seen) in photos(records) {
        by_bytes.entry(&seen.sha256).or_default().push(place);
    }
    let mut twice: Vec<_> = by_bytes.into_values().filter(|p| p.len() > 1).collect();
    twice.sort();
    twice
}

/// A photograph that can be compared.
struct Candidate<'a> {
    place: Place,
    sha256: &'a str,
    px_per_mm: Option<f64>,
    likeness: Likeness,
}

fn same_spots(records: &[Record]) -> Vec<(Place, Place)> {
    let candidates: Vec<Candidate<'_>> = photos(records)
        .filter_map(|(place, seen)| {
            Some(Candidate {
                place,
                sha256: &seen.sha256,
                px_per_mm: seen.px_per_mm.map(|s| s[0]),
                likeness: Likeness::from_text(seen.likeness.as_deref()?)?,
            })
        })
        .collect();
    let across = candidates.len() <= MOST_COMPARED;
    let mut pairs: Vec<(Place, Place)> = candidates
        .par_iter()
        .enumerate()
        .flat_map_iter(|(i, b)| {
            // It is turned at most once for all the others.
            let turnable = b.likeness.turnable();
            candidates[..i]
                .iter()
                .filter(|a| across || a.place.0 == b.place.0)
                .filter(|a| can_be_same_spot(a, b) && a.likeness.is_same_spot(&turnable))
                .map(|a| (a.place, b.place))
                .collect::<Vec<_>>()
        })
        .collect();
    pairs.sort_unstable();
    pairs
}

/// What tells two photographs apart before their pictures are compared.
fn can_be_same_spot(a: &Candidate<'_>, b: &Candidate<'_>) -> bool {
    let scales_fit = match (a.px_per_mm, b.px_per_mm) {
        (Some(a), Some(b)) => (a / b - 1.0).abs() <= SAME_SCALE,
        _ => true,
    };
    scales_fit && a.sha256 != b.sha256
}

/// Whether photographs of different sheets were compared, too.
#[must_use]
pub fn compared_across_sheets(records: &[Record]) -> bool {
    photos(records)
        .filter(|(_, seen)| seen.likeness.is_some())
        .count()
        <= MOST_COMPARED
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::lot::order::tests::record;

    #[test]
    fn a_file_filed_twice_is_named_on_both_sheets() {
        let mut records = vec![
            record("rose", None, 0.1),
            record("lily", None, 0.1),
            record("iris", None, 0.1),
        ];
        records[2].photos[0].sha256 = "rose".into();
        let said = find(&records);
        assert_eq!(said[0], ["rose.jpg is the same file as iris.jpg."]);
        assert_eq!(said[2], ["iris.jpg is the same file as rose.jpg."]);
        assert!(said[1].is_empty());
    }

    #[test]
    fn a_copy_on_the_same_sheet_is_said_once() {
        let mut rose = record("rose", None, 0.1);
        let mut copy = rose.photos[0].clone();
        copy.file = "rose b.jpg".into();
        rose.photos.push(copy);
        let said = find(&[rose]);
        assert_eq!(said, [["rose b.jpg is the same file as rose.jpg."]]);
    }

    #[test]
    fn what_looks_like_one_spot_is_to_be_looked_at() {
        let examination = crate::report::example::stipple();
        let likeness = Likeness::of(&examination.photos[0].inked).map(|l| l.to_text());
        let mut records = [record("rose", None, 0.1), record("lily", None, 0.1)];
        for record in &mut records {
            record.photos[0].likeness.clone_from(&likeness);
        }
        assert_eq!(
            find(&records)[0],
            ["rose.jpg may show the same spot as lily.jpg: look before you set one aside."]
        );
    }

    #[test]
    fn many_copies_are_counted() {
        let records: Vec<Record> = (0..6)
            .map(|i| {
                let mut r = record(&format!("s{i}"), None, 0.1);
                r.photos[0].sha256 = "same".into();
                r
            })
            .collect();
        assert_eq!(
            find(&records)[0],
            ["s0.jpg is the same file as s1.jpg, s2.jpg, s3.jpg and 2 more."]
        );
    }
}
