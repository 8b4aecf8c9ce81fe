//! Names and glosses of what is measured.

use super::table::titles;

/// Title of a group of measurements.
#[must_use]
pub fn group_title(key: &str) -> &'static str {
    match key {
        "marks" => "Marks: dots and flicks",
        "lines" => "Lines: systems of hatching",
        "lattice" => "Lattice: printing screens",
        "grain" => "Grain of a stone or ground",
        "film" => "Film: an even tint under the marks",
        "layering" => "Layering: where the colour lies",
        _ => "Other measurements",
    }
}

/// What a group of measurements is for, in a sentence.
#[must_use]
pub fn group_gloss(key: &str) -> &'static str {
    match key {
        "marks" => {
            "Every separate patch of ink was outlined and measured; solid areas and marks cut by the edge of the field are left out of sizes."
        }
        "lines" => {
            "Parallel lines that run together over many spacings; angles are those of the lines, counter-clockwise from the picture's horizontal."
        }
        "lattice" => {
            "A printing screen repeats in two directions, with the same phase over the whole field; hand work does not. Angles are counter-clockwise from the picture's horizontal."
        }
        "grain" => "Broken, random texture as a grained stone leaves it.",
        "film" => "A second, even ink that lies between and under the marks.",
        "layering" => {
            "Whether the colour sits in the marks themselves or was laid over the paper between them."
        }
        _ => "",
    }
}

/// Title and gloss of a measurement by its path, e.g. `marks.diameter_um.p50`.
#[must_use]
pub fn title_of(path: &str) -> (String, &'static str) {
    let parts: Vec<_> = path.split('.').collect();
    let mut names = Vec::new();
    for pair in parts.windows(2).filter(|pair| !is_container(pair[1])) {
        names.push(match (member_of(pair[0]), pair[1].parse::<usize>()) {
            (Some(member), Ok(index)) => format!("{member} {}", index + 1),
            _ => name_of_part(pair[1]),
        });
    }
    if names.is_empty() {
        names.push(name_of_part(parts.last().unwrap_or(&path)));
    }
    (names.join(", "), gloss_of(&parts))
}

/// Place of a measurement in reports: the order of the table of titles, others behind it.
#[must_use]
pub fn rank_of(path: &str) -> usize {
    path.split('.')
        .rev()
        .find_map(|part| titles().position(|(key, _, _)| *key == part))
        .unwrap_or_else(|| titles().count())
}

/// What a member of a list is called.
fn member_of(list: &str) -> Option<&'static str> {
    match list {
        "inks" => Some("Screen"),
        "systems" => Some("System"),
        "crossings" => Some("Crossing"),
        _ => None,
    }
}

/// What a list is called, by its path.
#[must_use]
pub fn list_title(path: &str) -> String {
    let last = path.rsplit('.').next().unwrap_or(path);
    member_of(last).map_or_else(|| humanised(last), |member| format!("{member}s"))
}

/// Lists whose members are numbered need no name of their own.
fn is_container(part: &str) -> bool {
    matches!(part, "inks" | "systems" | "crossings" | "features")
}

fn gloss_of(parts: &[&str]) -> &'static str {
    parts
        .iter()
        .rev()
        .find_map(|part| titles().find(|(key, _, _)| key == part))
        .map_or("", |(_, _, gloss)| gloss)
}

fn name_of_part(part: &str) -> String {
    if let Some((_, title, _)) = titles().find(|(key, _, _)| *key == part) {
        return (*title).to_owned();
    }
    if let Ok(index) = part.parse::<usize>() {
        return format!("no. {}", index + 1);
    }
    match part {
        "p10" => "10 % are smaller than".into(),
        "p50" => "half are smaller than".into(),
        "p90" => "90 % are smaller than".into(),
        other => humanised(other),
    }
}

/// `edge_raggedness_um` → "Edge raggedness".
fn humanised(key: &str) -> String {
    const UNIT_ENDINGS: [&str; 8] = ["um", "mm", "mm2", "px", "deg", "lpi", "per", "share"];
    let mut words: Vec<_> = key.split('_').collect();
    while words.len() > 1 && words.last().is_some_and(|w| UNIT_ENDINGS.contains(w)) {
        words.pop();
    }
    super::capital(&words.join(" "))
}

/// Text from a measurement (a kind, an ink, a note) as a person reads it.
#[must_use]
pub fn stated(text: &str) -> String {
    match text {
        "clustered" => "dots of varied size on a fixed lattice".into(),
        "stochastic" => "small equal spots without a lattice (stochastic screen or inkjet)".into(),
        "none" => "none found".into(),
        "not-measured" => "not measured".into(),
        "K" | "C" | "M" | "Y" | "S" => ink_name(text).into(),
        other => other.into(),
    }
}

/// An ink by its letter.
#[must_use]
pub fn ink_name(letter: &str) -> &'static str {
    match letter {
        "K" => "black",
        "C" => "cyan",
        "M" => "magenta",
        "Y" => "yellow",
        _ => "spot colour",
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn paths_read_as_titles() {
        let title = |path| title_of(path).0;
        assert_eq!(title("lattice.inks.0.ruling_lpi"), "Screen 1, Ruling");
        assert_eq!(
            title("marks.diameter_um.p50"),
            "Mark diameter, half are smaller than"
        );
        assert_eq!(title("marks.brightness_um"), "Brightness");
        assert_eq!(
            title("lines.features.ink_in_patches"),
            "Share of ink in broad patches"
        );
        assert!(title_of("marks.clark_evans").1.contains("random"));
        assert!(rank_of("lattice.kind") < rank_of("lattice.inks.0.ruling_lpi"));
    }
}
