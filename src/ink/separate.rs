//! Separating densities into inks: which ink a colour of modulation belongs to.

use super::Ink;

/// Direction in density space (R, G, B over paper, unit length) of a solid of each process ink.
///
/// Computed from the solids on coated paper of ISO 12647-2 (K 16/0/0, C 56/−35/−53, M 48/75/−5,
/// Y 89/−4/92, CIELAB, as quoted second-hand) through linear sRGB over paper 95/0/−2, density
/// capped at 1.3: what a camera still tells from its own scatter in the band an ink absorbs.
pub const PROCESS_DIRECTIONS: [(Ink, [f64; 3]); 4] = [
    (Ink::K, [0.577, 0.577, 0.577]),
    (Ink::C, [0.948, 0.313, 0.058]),
    (Ink::M, [0.062, 0.892, 0.446]),
    (Ink::Y, [0.0, 0.061, 0.998]),
];

/// Least ratio of the weakest to the strongest channel of a neutral ink. Black inks seen by
/// cameras keep above 0.6; the greyest process solid (magenta or cyan) stays under 0.2.
const NEUTRAL_RATIO: f64 = 0.55;

/// Unit vector along a density.
#[must_use]
pub fn direction(density: [f64; 3]) -> [f64; 3] {
    let length = density.iter().map(|d| d * d).sum::<f64>().sqrt();
    density.map(|d| d / length.max(1e-30))
}

/// Cosine between a modulation's colour and a process ink; 0 for a spot colour.
#[must_use]
pub fn likeness(colour: [f64; 3], ink: Ink) -> f64 {
    let unit = direction(colour);
    PROCESS_DIRECTIONS
        .iter()
        .find(|(named, _)| *named == ink)
        .map_or(0.0, |(_, axis)| {
            unit.iter().zip(axis).map(|(a, b)| a * b).sum()
        })
}

/// Whether a modulation is grey: black ink, or one dark ink.
#[must_use]
pub fn is_neutral(colour: [f64; 3]) -> bool {
    let least = colour.iter().copied().fold(f64::INFINITY, f64::min);
    let most = colour.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    most > 0.0 && least >= NEUTRAL_RATIO * most
}

/// Names the inks of several modulations, strongest first, each ink at most once.
///
/// The naming that makes the sum of likenesses largest is taken, each counted by the root of its
/// strength so that a faint residue does not take a strong ink's name. A lone grey modulation is `K`;
/// one chromatic modulation beside grey ones is a spot ink.
#[must_use]
pub fn name_inks(colours: &[[f64; 3]], strengths: &[f64]) -> Vec<Option<Ink>> {
    let chromatic = colours.iter().filter(|c| !is_neutral(**c)).count();
    match (colours.len(), chromatic) {
        (1, 0) => return vec![Some(Ink::K)],
        // The key's screen may be too fine or too faint where yellow's shows.
        (1, _) => {}
        (_, 0 | 1) => return name_duotone(colours, strengths),
        _ => {}
    }
    let mut best = (f64::NEG_INFINITY, vec![None; colours.len()]);
    let mut names = vec![None; colours.len()];
    let weighed: Vec<([f64; 3], f64)> = colours
        .iter()
        .zip(strengths)
        .map(|(c, s)| (*c, s.max(0.0).sqrt()))
        .take(MAX_NAMED)
        .collect();
    search(&weighed, 0, 0.0, &mut names, &mut best);
    match &best.1[..] {
        [None] => vec![Some(Ink::S)],
        _ => best.1,
    }
}

/// Black for the most neutral, the spot ink for the most chromatic of two strong ones.
fn name_duotone(colours: &[[f64; 3]], strengths: &[f64]) -> Vec<Option<Ink>> {
    let strongest = strengths.iter().copied().fold(0.0, f64::max);
    let mut order: Vec<usize> = (0..colours.len())
        .filter(|&k| strengths[k] >= SECOND_INK_SHARE * strongest)
        .collect();
    order.sort_by(|&a, &b| likeness(colours[b], Ink::K).total_cmp(&likeness(colours[a], Ink::K)));
    let mut names = vec![None; colours.len()];
    if let [first, .., last] = order[..] {
        names[last] = Some(Ink::S);
        names[first] = Some(Ink::K);
    } else if let [only] = order[..] {
        names[only] = Some(Ink::K);
    }
    names
}

/// Least amplitude of the second ink of a duotone over that of the first; residues of a screen's
/// own harmonics stay below.
const SECOND_INK_SHARE: f64 = 0.2;
/// Likeness that a named ink must reach; under it the modulation stays without a name.
const MIN_LIKENESS: f64 = 0.6;
/// Most modulations looked at: twice the inks of a process print.
const MAX_NAMED: usize = 8;

fn search(
    colours: &[([f64; 3], f64)],
    at: usize,
    sum: f64,
    names: &mut Vec<Option<Ink>>,
    best: &mut (f64, Vec<Option<Ink>>),
) {
    if at == colours.len() {
        if sum > best.0 {
            *best = (sum, names.clone());
        }
        return;
    }
    for (ink, _) in PROCESS_DIRECTIONS {
        let (colour, weight) = colours[at];
        let fit = weight * (likeness(colour, ink) - MIN_LIKENESS);
        if fit > 0.0 && !names[..at].contains(&Some(ink)) {
            names[at] = Some(ink);
            search(colours, at + 1, sum + fit, names, best);
        }
    }
    names[at] = None;
    search(colours, at + 1, sum, names, best);
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_cast_set_of_process_inks_is_named() {
        let colours = [
            [0.5, 0.45, 0.4],
            [0.1, 0.2, 0.7],
            [0.6, 0.3, 0.15],
            [0.2, 0.7, 0.35],
        ];
        let names = name_inks(&colours, &[0.2, 0.1, 0.1, 0.1]);
        assert_eq!(names, [Ink::K, Ink::Y, Ink::C, Ink::M].map(Some));
    }

    #[test]
    fn a_lone_screen_keeps_the_name_of_its_colour() {
        let named = |colour| name_inks(&[colour], &[0.1])[0];
        assert_eq!(named([0.4, 0.42, 0.38]), Some(Ink::K));
        assert_eq!(named([0.05, 0.1, 0.5]), Some(Ink::Y));
        // A brown is a dark ink.
        assert_eq!(named([0.3, 0.5, 0.6]), Some(Ink::K));
    }

    #[test]
    fn black_with_one_colour_is_a_duotone() {
        let names = name_inks(&[[0.3, 0.6, 0.9], [0.5, 0.5, 0.45]], &[0.1, 0.1]);
        assert_eq!(names, [Some(Ink::S), Some(Ink::K)]);
    }
}
