//! The usable field: the round loupe field where there is one, without rim, glare and clipping.

/// The part of the frame that shows the sheet.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Field {
    /// The sheet fills the frame.
    Frame,
    /// A round loupe field; centre and radius in pixels.
    Round {
        /// Centre, px from the left.
        cx: f64,
        /// Centre, px from the top.
        cy: f64,
        /// Radius in px to the dark rim (before the safety margin is taken off).
        radius: f64,
    },
}
