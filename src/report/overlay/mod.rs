//! What was measured, drawn over the photograph: layers that can be switched.
//!
//! Drawings are in the photograph's own pixels, so one layer fits every size it is shown at.
//!
//! - [`outline`]: marks outlined, and the pixels left out.
//! - [`hatching`]: directions of hatching, strokes that were followed.
//! - [`screens`]: printing screens, as directions and as a grid.
//! - [`ground`]: film and colour on the ground between the marks.
//! - [`ruler`]: a bar of known length.

pub mod ground;
pub mod hatching;
pub mod outline;
pub mod ruler;
pub mod screens;

use super::picture::Window;
use crate::measure::Examined;
use crate::measure::segment::Segments;
use maud::{Markup, html};

/// One switchable layer.
pub struct Layer {
    /// Key, also its style class.
    pub key: &'static str,
    /// What it shows, for the switch.
    pub title: &'static str,
    /// What its colours and signs mean, a sentence for the legend.
    pub aid: &'static str,
    /// The drawing, in the photograph's pixels.
    pub svg: Markup,
}

/// How large the photograph is shown.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum View {
    /// The whole photograph, reduced.
    Whole,
    /// A part at full resolution.
    Detail,
}

/// All layers that have something to show in a window.
#[must_use]
pub fn layers(examined: &Examined, segments: &Segments, window: Window, view: View) -> Vec<Layer> {
    let measurements = &examined.measurements;
    [
        outline::left_out(&examined.photo, window, view),
        ground::film(&examined.inked, window),
        ground::border(&measurements.film, window),
        outline::marks(segments, window, view),
        hatching::directions(&measurements.lines, window),
        hatching::strokes(&measurements.lines, window, view),
        screens::layer(&measurements.lattice, &examined.inked, window, view),
        ground::colours(&measurements.layering, &examined.inked, window),
    ]
    .into_iter()
    .flatten()
    .collect()
}

/// What the layers over one photograph mean; layers that are not drawn are not explained.
#[must_use]
pub fn legend(layers: &[Layer]) -> String {
    let aids: Vec<_> = layers.iter().map(|layer| layer.aid).collect();
    aids.join(" ")
}

/// Shifts drawings from pixel centres at whole numbers to the page's pixel corners.
fn centred(drawing: &Markup) -> Markup {
    html! { g transform="translate(.5 .5)" { (drawing) } }
}

impl Window {
    /// Whether a place in the photograph lies inside.
    #[must_use]
    pub fn holds(&self, x: f64, y: f64) -> bool {
        let (left, top) = (self.left as f64, self.top as f64);
        (left..left + self.width as f64).contains(&x)
            && (top..top + self.height as f64).contains(&y)
    }

    /// Middle of the window, px.
    #[must_use]
    pub fn middle(&self) -> (f64, f64) {
        (
            self.left as f64 + self.width as f64 / 2.0,
            self.top as f64 + self.height as f64 / 2.0,
        )
    }

    /// Its shorter side, px.
    #[must_use]
    pub fn short_side(&self) -> f64 {
        self.width.min(self.height) as f64
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::measure::segment;
    use crate::report::example;

    #[test]
    fn the_legend_explains_the_layers_that_are_drawn_and_no_others() {
        let examined = example::stipple().photos.remove(0);
        let segments = segment::find(&examined.inked);
        let window = Window::whole(&examined.photo);
        let layers = layers(&examined, &segments, window, View::Whole);
        let legend = legend(&layers);
        for (key, word) in [
            ("marks", "Red outlines"),
            ("strokes", "Green lines"),
            ("lattice", "printing screens"),
            ("film", "Amber"),
            ("border", "Dashed line"),
            ("layering", "Discs"),
            ("field", "Grey"),
        ] {
            let drawn = layers.iter().any(|layer| layer.key == key);
            assert_eq!(legend.contains(word), drawn, "{word}: {legend}");
        }
    }
}
