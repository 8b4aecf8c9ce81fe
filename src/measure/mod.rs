//! Densities → what is on the paper: marks, lines, lattice, grain, film, layering.

pub mod film;
pub mod grain;
pub mod lattice;
pub mod layering;
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
    let segments = segment::find(inked);
    let ground = film::ground::map(inked);
    let lattice = lattice::measure(inked, &segments);
    Measurements {
        marks: marks::measure(inked, &segments),
        lines: lines::measure(inked, &segments),
        grain: grain::measure(inked, &segments),
        film: film::on_ground(inked, &ground),
        layering: layering::on_ground(inked, &ground),
        lattice,
    }
}
