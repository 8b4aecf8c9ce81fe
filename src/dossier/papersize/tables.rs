//! Published tables of named sizes of paper.

/// A named size in one table: name, longer and shorter side in inches, source.
pub(super) struct Named {
    pub(super) name: &'static str,
    pub(super) long_in: f64,
    pub(super) short_in: f64,
    pub(super) source: &'static str,
}

const SCRIBNER: &str = "J. M. Scribner 1849";
const SCIENTIFIC: &str = "Scientific American, March 1854";
const BOOKSELLING: &str = "dayabook.com's list of English bookselling sizes";
const LARGE: &str = "omniglot's list of English sizes";
const WRAPPING: &str = "\"Paper and Its Uses\", early 20th century (wrapping)";
const REMEMBERED: &str = "a list of English papers from memory, not checked";

/// Sources: Scribner 1849 and Scientific American 1854 as given by sizes.com; the English lists of
/// dayabook.com and of omniglot by way of a blog of 2008; "Paper and Its Uses", p. 158; atlas, columbier and
/// large post from memory.
pub(super) const SIZES: &[Named] = &[
    named("antiquarian", 53.0, 31.0, LARGE),
    named("antiquarian (wove antique)", 52.0, 31.0, SCRIBNER),
    named("emperor", 72.0, 48.0, LARGE),
    named("double elephant", 40.0, 26.0, SCRIBNER),
    named("double elephant", 40.0, 27.0, LARGE),
    named("double elephant", 46.0, 31.0, WRAPPING),
    named("columbier", 34.5, 23.5, REMEMBERED),
    named("atlas", 34.0, 26.0, REMEMBERED),
    named("elephant", 27.75, 23.25, SCRIBNER),
    named("elephant", 28.0, 23.0, LARGE),
    named("elephant", 32.0, 24.0, WRAPPING),
    named("imperial", 29.0, 21.25, SCRIBNER),
    named("imperial", 32.0, 22.0, SCIENTIFIC),
    named("imperial", 29.0, 22.5, WRAPPING),
    named("super-royal", 27.0, 19.0, SCRIBNER),
    named("super-royal", 27.0, 22.0, SCIENTIFIC),
    named("royal", 24.0, 19.0, SCRIBNER),
    named("royal", 25.0, 20.0, SCIENTIFIC),
    named("royal", 25.0, 20.0, BOOKSELLING),
    named("medium", 22.0, 18.0, SCRIBNER),
    named("medium", 24.0, 19.0, SCIENTIFIC),
    named("medium", 23.0, 18.0, BOOKSELLING),
    named("large post", 20.75, 16.5, REMEMBERED),
    named("demy", 19.0, 15.5, SCRIBNER),
    named("demy", 22.0, 17.0, SCIENTIFIC),
    named("crown", 20.0, 15.0, SCIENTIFIC),
    named("crown", 19.0, 15.0, BOOKSELLING),
    named("foolscap", 17.0, 14.0, SCIENTIFIC),
    named("pott", 15.0, 12.5, LARGE),
];

pub(super) const fn named(
    name: &'static str,
    long_in: f64,
    short_in: f64,
    source: &'static str,
) -> Named {
    Named {
        name,
        long_in,
        short_in,
        source,
    }
}
