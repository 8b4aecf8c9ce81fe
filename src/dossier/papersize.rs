//! A sheet against the traditional sizes of paper and their foldings: evidence on the format of an
//! edition, never alone.
//!
//! Published tables differ from one another by up to three inches for the same name, so every
//! table stands for itself and the closest counts.

mod tables;

use super::particulars::Size;
use crate::report::words;
use tables::{Named, SIZES};

const MM_PER_INCH: f64 = 25.4;
/// What a binder's or framer's knife usually takes off a side in all, mm: half an inch from each
/// edge (common practice, no single source).
const TRIMMED_MM: f64 = 25.0;
/// What a whole sheet may be larger than its table, mm: half an inch, as moulds of one name differ
/// and damp paper dries unevenly (common practice). Halves with each folding of the side. A sheet so
/// much larger is not of that size, and does not speak against it either.
const LARGER_MM: f64 = 13.0;
/// What a side may come out longer than it is, mm, and still fit: an eighth of an inch, what is lost in
/// tables that go by quarters of one, and what a ruler on an uneven edge leaves open (no source).
const MEASURED_MM: f64 = 3.0;
/// Formats named one by one.
const NAMED: usize = 4;
/// Said of a sheet larger than a leaf by no more than [`LARGER_MM`].
const MOULDS_VARY: &str =
    "that is more than measuring leaves open, and no more than moulds of one name differed";

/// How a sheet is folded. Folio and quarto by DCRMR's glossary, octavo by Etherington and Roberts,
/// *Bookbinding and the Conservation of Books*, "book sizes".
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Fold {
    /// Not at all.
    Whole,
    /// Once: two leaves.
    Folio,
    /// Twice: four leaves.
    Quarto,
    /// Three times: eight leaves.
    Octavo,
}

impl Fold {
    const ALL: [Self; 4] = [Self::Whole, Self::Folio, Self::Quarto, Self::Octavo];

    /// The folding that a claim names; a claim that names none is of a whole sheet. `None` where it
    /// names one that is not in the tables.
    fn claimed(claim: &str) -> Option<Self> {
        let words = || claim.split(|c: char| !c.is_alphanumeric() && c != '°');
        let any = |names: &[&str]| words().any(|word| names.contains(&word));
        // Abbreviations as catalogues have them: "4to", "8vo", "4°".
        if any(&["folio", "fo", "fol", "2o", "2°"]) {
            return Some(Self::Folio);
        }
        if any(&["quarto", "4to", "4o", "4°"]) {
            return Some(Self::Quarto);
        }
        if any(&["octavo", "8vo", "8o", "8°"]) {
            return Some(Self::Octavo);
        }
        let smaller = |word: &str| {
            word.ends_with("decimo")
                || word.ends_with("mo") && word.starts_with(|c: char| c.is_ascii_digit())
                || word.ends_with('°')
        };
        (!words().any(smaller)).then_some(Self::Whole)
    }

    /// Its name after that of the size.
    #[must_use]
    pub fn name(self) -> &'static str {
        match self {
            Self::Whole => "whole sheet",
            Self::Folio => "folio",
            Self::Quarto => "quarto",
            Self::Octavo => "octavo",
        }
    }

    /// Longer and shorter side of a leaf and how often each was folded, from a whole sheet.
    fn leaf(self, long_mm: f64, short_mm: f64) -> Leaf {
        let folds = match self {
            Self::Whole => 0,
            Self::Folio => 1,
            Self::Quarto => 2,
            Self::Octavo => 3,
        };
        let mut sides = [(long_mm, LARGER_MM), (short_mm, LARGER_MM)];
        for _ in 0..folds {
            // Each folding halves the longer side.
            sides[0] = (sides[0].0 / 2.0, sides[0].1 / 2.0);
            if sides[0].0 < sides[1].0 {
                sides.swap(0, 1);
            }
        }
        Leaf {
            long_mm: sides[0].0,
            short_mm: sides[1].0,
            larger_mm: [sides[0].1, sides[1].1],
        }
    }
}

/// A leaf untrimmed, and how much larger each side may be.
#[derive(Clone, Copy, Debug)]
struct Leaf {
    long_mm: f64,
    short_mm: f64,
    larger_mm: [f64; 2],
}

/// A sheet against one format.
#[derive(Clone, Debug, PartialEq)]
pub struct Fit {
    /// Name of the size of paper.
    pub name: &'static str,
    /// Its folding.
    pub fold: Fold,
    /// Table that the size is from.
    pub source: &'static str,
    /// The leaf untrimmed: longer and shorter side, mm.
    pub leaf_mm: [f64; 2],
    /// What moulds of that name may make each side larger, mm: less the oftener it was folded.
    pub larger_mm: [f64; 2],
    /// Sheet less leaf, longer and shorter side, mm; below 0 where the sheet is smaller.
    pub beyond_mm: [f64; 2],
    /// Whether it is within what trimming takes and measuring leaves open.
    pub fits: bool,
}

impl Fit {
    fn of(sheet: &Size, size: &Named, fold: Fold) -> Self {
        let leaf = fold.leaf(size.long_in * MM_PER_INCH, size.short_in * MM_PER_INCH);
        let long = sheet.height_mm.max(sheet.width_mm);
        let short = sheet.height_mm.min(sheet.width_mm);
        let beyond_mm = [long - leaf.long_mm, short - leaf.short_mm];
        let within = |beyond: &f64| (-TRIMMED_MM..=MEASURED_MM).contains(beyond);
        let fits = beyond_mm.iter().all(within);
        Self {
            name: size.name,
            fold,
            source: size.source,
            leaf_mm: [leaf.long_mm, leaf.short_mm],
            larger_mm: leaf.larger_mm,
            beyond_mm,
            fits,
        }
    }

    /// Whether a side is larger than moulds vary: a leaf can be trimmed and cannot grow.
    fn too_large(&self) -> bool {
        let mut sides = self.beyond_mm.iter().zip(self.larger_mm);
        sides.any(|(beyond, larger)| *beyond > larger)
    }

    /// Whether it is larger than the leaf, by no more than moulds of one name vary.
    fn outgrows(&self) -> bool {
        let cut_down = self.beyond_mm.iter().any(|beyond| *beyond < -TRIMMED_MM);
        !self.fits && !cut_down && !self.too_large()
    }

    /// How far the sheet is from the leaf, each side as a share of what trimming takes off, or of what
    /// moulds vary: a leaf often loses 10 mm and hardly ever gains them.
    fn distance(&self) -> f64 {
        let side = |k: usize| match self.beyond_mm[k] {
            over if over > 0.0 => over / self.larger_mm[k],
            under => under / TRIMMED_MM,
        };
        side(0).hypot(side(1))
    }

    /// "royal folio (untrimmed 508 × 318 mm by …)".
    fn named(&self) -> String {
        format!(
            "{} {} (untrimmed {:.0} × {:.0} mm by {})",
            self.name,
            self.fold.name(),
            self.leaf_mm[0],
            self.leaf_mm[1],
            self.source
        )
    }

    /// "larger than royal folio (untrimmed …) by 12 mm in the longer side".
    fn outgrown_in_words(&self) -> String {
        let sides = self.beyond_mm.iter().zip(["longer", "shorter"]);
        let over: Vec<String> = sides
            .filter(|(beyond, _)| **beyond > MEASURED_MM)
            .map(|(beyond, side)| format!("{beyond:.0} mm in the {side} side"))
            .collect();
        format!("larger than {} by {}", self.named(), words::list(&over))
    }

    /// "royal folio (untrimmed 508 × 318 mm by …): 6 mm short in the longer side, …".
    fn in_words(&self) -> String {
        let side = |mm: f64, side: &str| match mm.round() {
            0.0 => format!("the {side} side exact"),
            off if off < 0.0 => format!("{} mm short in the {side} side", -off),
            off => format!("{off} mm over in the {side} side"),
        };
        format!(
            "{}: {}, {}",
            self.named(),
            side(self.beyond_mm[0], "longer"),
            side(self.beyond_mm[1], "shorter")
        )
    }
}

/// Every format against a sheet, closest first; ties in the order of the tables.
#[must_use]
pub fn against_all(sheet: &Size) -> Vec<Fit> {
    let mut all: Vec<Fit> = SIZES
        .iter()
        .flat_map(|size| Fold::ALL.map(|fold| Fit::of(sheet, size, fold)))
        .collect();
    all.sort_by(|a, b| a.distance().total_cmp(&b.distance()));
    all
}

/// What the sheet's size says, in sentences; of the format claimed first, where one is.
#[must_use]
pub fn in_words(sheet: &Size, claimed: Option<&str>) -> Vec<String> {
    let all = against_all(sheet);
    let mut sentences = Vec::new();
    if let Some(claimed) = claimed {
        sentences.push(on_claim(sheet, claimed, &all));
    }
    sentences.push(what_fits(sheet, &all));
    sentences.push("Tables of named sizes differ from one another by up to three inches, and leaves were trimmed: a size speaks for or against a format and never settles it alone.".into());
    sentences
}

fn what_fits(sheet: &Size, all: &[Fit]) -> String {
    let mut fitting: Vec<&Fit> = Vec::new();
    for fit in all.iter().filter(|fit| fit.fits) {
        let known = |f: &&Fit| (f.name, f.fold) == (fit.name, fit.fold);
        if !fitting.iter().any(known) {
            fitting.push(fit);
        }
    }
    let size = sheet.in_words();
    // A size that another table has larger fits already.
    let known = |near: &Fit| {
        fitting
            .iter()
            .any(|f| (f.name, f.fold) == (near.name, near.fold))
    };
    let outgrown = all
        .iter()
        .find(|near| near.outgrows() && !known(near))
        .map(|near| format!("{}; {MOULDS_VARY}", near.outgrown_in_words()));
    if fitting.is_empty() {
        let why = outgrown.map_or_else(
            || format!("an odd size, or cut down by more than {TRIMMED_MM} mm"),
            |outgrown| format!("it is {outgrown}"),
        );
        return format!("{size} fits no format in the tables, trimmed or not: {why}.");
    }
    let named: Vec<String> = fitting.iter().take(NAMED).map(|f| f.in_words()).collect();
    let further = fitting.len().saturating_sub(NAMED);
    let rest = match further {
        0 => String::new(),
        1 => "; and one more".into(),
        many => format!("; and {many} more"),
    };
    let outgrown = outgrown.map_or_else(String::new, |outgrown| format!(" It is {outgrown}."));
    format!(
        "{size} fits, closest first: {}{rest}.{outgrown}",
        named.join("; ")
    )
}

/// For or against the format that the edition is said to have.
fn on_claim(sheet: &Size, claimed: &str, all: &[Fit]) -> String {
    let plain = claimed.to_lowercase().replace("super royal", "super-royal");
    let fold = Fold::claimed(&plain);
    let candidates: Vec<&Fit> = all
        .iter()
        .filter(|fit| Some(fit.fold) == fold && is_named(&plain, fit.name))
        .collect();
    let Some(closest) = candidates.first() else {
        return without_table(claimed, &plain, fold);
    };
    let size = sheet.in_words();
    if let Some(fit) = candidates.iter().find(|fit| fit.fits) {
        let others = all
            .iter()
            .filter(|other| other.fits && other.fold == fit.fold)
            .any(|other| !candidates.iter().any(|c| c.name == other.name));
        let beside = if others {
            "; other formats fit it as well, so it does not settle which"
        } else {
            ", and no other size folded so fits it"
        };
        return format!(
            "The size allows the format claimed: {size} fits {}{beside}.",
            fit.in_words()
        );
    }
    if let Some(fit) = candidates.iter().find(|fit| fit.outgrows()) {
        return format!(
            "The size neither allows the format claimed nor speaks against it: {size} is {}; {MOULDS_VARY}.",
            fit.outgrown_in_words()
        );
    }
    if let Some(whole) = whole_sheet(&plain, fold, all) {
        return format!(
            "Folded once the paper claimed would give a smaller leaf than {size}; but plates on unfolded sheets are called folio too (common practice in the trade), and as a whole sheet it fits {}.",
            whole.in_words()
        );
    }
    let words = closest.in_words();
    if candidates.iter().all(|fit| fit.too_large()) {
        return format!(
            "The size speaks against the format claimed: a leaf can be trimmed and cannot grow. Closest: {words}."
        );
    }
    format!(
        "The size speaks against the format claimed, unless the sheet was cut down by more than {}: {words}.",
        words::list(&[format!("{TRIMMED_MM} mm")])
    )
}

/// Said of a claim that no table has.
fn without_table(claimed: &str, plain: &str, fold: Option<Fold>) -> String {
    let names_a_size = SIZES.iter().any(|size| is_named(plain, size.name));
    match fold {
        Some(fold) if fold != Fold::Whole && !names_a_size => format!(
            "The format claimed, \"{claimed}\", names a folding and no size of paper that is in the tables used here, so the sheet speaks neither for nor against it."
        ),
        _ => format!("The format claimed, \"{claimed}\", is not in the tables used here."),
    }
}

/// The whole sheet of the size claimed, where "folio" is claimed and the sheet fits that: plates printed on
/// unfolded sheets were bound and sold as folios.
fn whole_sheet<'a>(plain: &str, fold: Option<Fold>, all: &'a [Fit]) -> Option<&'a Fit> {
    let claimed = |fit: &&Fit| fit.fold == Fold::Whole && is_named(plain, fit.name);
    let mut whole = all.iter().filter(claimed);
    whole.find(|fit| fold == Some(Fold::Folio) && (fit.fits || fit.outgrows()))
}

/// Whether a claim names a size, and not a longer name that holds it.
fn is_named(claim: &str, name: &str) -> bool {
    let base = name.split(" (").next().unwrap_or(name);
    let longer = |other: &&Named| {
        let other = other.name.split(" (").next().unwrap_or(other.name);
        other.len() > base.len() && other.contains(base) && claim.contains(other)
    };
    claim.contains(base) && !SIZES.iter().any(|size| longer(&size))
}

#[cfg(test)]
mod tests;
