//! Typefaces, shaping, breaking lines.

use krilla::text::{Font, GlyphId, KrillaGlyph};
use rustybuzz::{Face, UnicodeBuffer};

/// A cut of the program's typefaces: Libertinus Serif (SIL Open Font License 1.1) and DejaVu Sans
/// Mono; licences lie beside the files.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Cut {
    /// Upright.
    Regular,
    /// Italic.
    Italic,
    /// Semibold.
    Semibold,
    /// Fixed width, for hashes.
    Mono,
}

const REGULAR: &[u8] = include_bytes!("fonts/LibertinusSerif-Regular.otf");
const ITALIC: &[u8] = include_bytes!("fonts/LibertinusSerif-Italic.otf");
const SEMIBOLD: &[u8] = include_bytes!("fonts/LibertinusSerif-Semibold.otf");
const MONO: &[u8] = include_bytes!("fonts/DejaVuSansMono.ttf");

struct Typeface {
    font: Font,
    face: Face<'static>,
}

/// All cuts, read.
pub struct Faces {
    cuts: [Typeface; 4],
}

/// A run of glyphs in one cut.
#[derive(Clone)]
pub struct Run {
    /// The glyphs, in shares of the size.
    pub glyphs: Vec<KrillaGlyph>,
    /// Their width as a share of the size.
    pub width: f32,
    /// The text they stand for.
    pub text: String,
}

impl Faces {
    /// Reads the typefaces; none where one is damaged.
    pub fn new() -> Option<Self> {
        Some(Self {
            cuts: [
                typeface(REGULAR)?,
                typeface(ITALIC)?,
                typeface(SEMIBOLD)?,
                typeface(MONO)?,
            ],
        })
    }

    fn cut(&self, cut: Cut) -> &Typeface {
        &self.cuts[cut as usize]
    }

    /// The font of a cut, for the file.
    pub fn font(&self, cut: Cut) -> Font {
        self.cut(cut).font.clone()
    }

    /// Shapes text from left to right. Letters that the typeface lacks are written by their number.
    pub fn shape(&self, cut: Cut, text: &str) -> Run {
        let text = self.printable(cut, text);
        let face = &self.cut(cut).face;
        let em = face.units_per_em() as f32;
        let mut buffer = UnicodeBuffer::new();
        buffer.push_str(&text);
        buffer.set_direction(rustybuzz::Direction::LeftToRight);
        let shaped = rustybuzz::shape(face, &[], buffer);
        let (infos, places) = (shaped.glyph_infos(), shaped.glyph_positions());
        let mut glyphs = Vec::with_capacity(infos.len());
        let mut width = 0.0;
        for (index, (info, place)) in infos.iter().zip(places).enumerate() {
            let from = info.cluster as usize;
            let next = infos[index..].iter().find(|i| i.cluster != info.cluster);
            let to = next.map_or(text.len(), |next| next.cluster as usize);
            let share = |units: i32| units as f32 / em;
            let advance = share(place.x_advance);
            width += advance;
            glyphs.push(KrillaGlyph::new(
                GlyphId::new(info.glyph_id),
                advance,
                share(place.x_offset),
                share(place.y_offset),
                share(place.y_advance),
                from..to.max(from),
                None,
            ));
        }
        Run {
            glyphs,
            width,
            text,
        }
    }

    /// Width of a text at a size, points.
    pub fn width(&self, cut: Cut, size: f32, text: &str) -> f32 {
        self.shape(cut, text).width * size
    }

    fn printable(&self, cut: Cut, text: &str) -> String {
        let face = &self.cut(cut).face;
        let mut out = String::with_capacity(text.len());
        for letter in text.chars() {
            match letter {
                // Spaces that the typefaces lack.
                '\u{202f}' | '\u{a0}' | '\t' => out.push(' '),
                letter if letter.is_control() => {}
                letter if face.glyph_index(letter).is_some() => out.push(letter),
                letter => out.push_str(&format!("[U+{:04X}]", letter as u32)),
            }
        }
        out
    }

    /// Breaks text into lines of a width, at spaces where it can and inside words where it must.
    /// Line feeds begin new lines.
    pub fn lines(&self, cut: Cut, size: f32, width: f32, text: &str) -> Vec<String> {
        let mut lines = Vec::new();
        for part in text.lines() {
            let mut line = String::new();
            for word in part.split(' ').filter(|word| !word.is_empty()) {
                let longer = if line.is_empty() {
                    word.to_owned()
                } else {
                    format!("{line} {word}")
                };
                if self.width(cut, size, &longer) <= width {
                    line = longer;
                    continue;
                }
                if !line.is_empty() {
                    lines.push(std::mem::take(&mut line));
                }
                line = self.broken(cut, size, width, word, &mut lines);
            }
            lines.push(line);
        }
        lines
    }

    /// Breaks a word that may be wider than a line; gives what is left of it for the next.
    fn broken(
        &self,
        cut: Cut,
        size: f32,
        width: f32,
        word: &str,
        lines: &mut Vec<String>,
    ) -> String {
        let mut rest = word.to_owned();
        while self.width(cut, size, &rest) > width {
            let letters: Vec<char> = rest.chars().collect();
            let mut kept = letters.len();
            let start = |n: usize| letters[..n].iter().collect::<String>();
            while kept > 1 && self.width(cut, size, &start(kept)) > width {
                kept -= (kept / 8).max(1);
            }
            lines.push(start(kept));
            rest = letters[kept..].iter().collect();
        }
        rest
    }
}

fn typeface(bytes: &'static [u8]) -> Option<Typeface> {
    Some(Typeface {
        font: Font::new(bytes.into(), 0)?,
        face: Face::from_slice(bytes, 0)?,
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lines_keep_every_letter_and_their_width() {
        let faces = Faces::new().unwrap();
        let text = format!("A heron, \"stipple\" {} end", "e3b0c442".repeat(30));
        for width in [60.0, 200.0, 1.0] {
            let lines = faces.lines(Cut::Regular, 9.0, width, &text);
            let letters = |t: &str| t.replace(' ', "");
            assert_eq!(letters(&lines.concat()), letters(&text));
            for line in &lines {
                assert!(
                    faces.width(Cut::Regular, 9.0, line) <= width.max(12.0),
                    "{line}"
                );
            }
        }
        assert_eq!(faces.lines(Cut::Regular, 9.0, 100.0, "a\nb").len(), 2);
    }

    #[test]
    fn letters_that_the_typeface_lacks_are_written_by_number() {
        let faces = Faces::new().unwrap();
        let run = faces.shape(Cut::Regular, "鷺 = heron\u{202f}1");
        assert_eq!(run.text, "[U+9DFA] = heron 1");
        assert!(run.glyphs.iter().all(|glyph| glyph.glyph_id.to_u32() != 0));
    }
}
