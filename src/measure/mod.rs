//! Densities → what is on the paper: marks, lines, lattice, grain, film, layering.

pub mod film;
pub mod grain;
pub mod lattice;
pub mod layering;
pub mod line_fit;
pub mod lines;
pub mod marks;
pub mod points;
pub mod segment;
pub mod systematic;

use crate::ink::Inked;
use crate::photo::Photo;

/// Everything measured on one photograph.
#[derive(Clone, Debug)]
pub struct Measurements {
    /// Dots and flicks.
    pub marks: marks::Marks,
    /// Systems of hatching.
    pub lines: lines::Lines,
    /// Halftone screens.
    pub lattice: lattice::Lattice,
    /// Stone grain.
    pub grain: grain::Grain,
    /// Printed tint.
    pub film: film::Film,
    /// Where the colour lies.
    pub layering: layering::Layering,
}

impl Measurements {
    /// Whether it was looked for and no mark, no line, no screen and no film was found: what is left is paper and noise.
    #[must_use]
    pub fn found_nothing(&self) -> bool {
        self.marks.count == 0
            && self.lines.systems.is_empty()
            && self.lattice.inks.is_empty()
            && self.film.lab.is_none()
    }
}

/// One photograph with all that was made of it.
pub struct Examined {
    /// The photograph.
    pub photo: Photo,
    /// As ink on paper.
    pub inked: Inked,
    /// What was measured.
    pub measurements: Measurements,
}

/// Measures all that the photograph can bear.
#[must_use]
pub fn measure(inked: &Inked) -> Measurements {
    // The screens take about as long as all the rest, and their waves need no segments.
    let (by_waves, (segments, marks, lines, grain, film, layering)) = rayon::join(
        || lattice::by_waves(inked),
        || {
            let (segments, ground) =
                rayon::join(|| segment::find(inked), || film::ground::map(inked));
            let marks = marks::measure(inked, &segments);
            let lines = lines::measure(inked, &segments);
            let grain = grain::measure(inked, &segments);
            let film = film::on_ground(inked, &ground);
            let layering = layering::on_ground(inked, &ground);
            (segments, marks, lines, grain, film, layering)
        },
    );
    let lattice = by_waves.or_by_dots(inked, &segments);
    Measurements {
        marks,
        lines,
        lattice,
        grain,
        film,
        layering,
    }
}
