//! Pieces set one under another: which stay on one page, and where a page ends.
//!
//! A piece is never torn: a line, a row of columns, a picture. Pieces that are kept together stand in a
//! chain and go to the next page together. So the last piece waits until the one after it is known.

use super::page::{Mark, Page};

/// A piece, with what is set of it, places from its own top.
struct Piece {
    marks: Vec<Mark>,
    height: f32,
    /// Gap above it, left out at the top of a page.
    before: f32,
    /// Whether the piece after it stands on the same page.
    kept: bool,
}

/// Pages, growing downwards.
pub struct Pieces {
    pages: Vec<Page>,
    /// The chain that is not set yet.
    waiting: Vec<Piece>,
    /// Gap above the next piece.
    gap: f32,
    /// Where the next chain would begin on the last page.
    y: f32,
    top: f32,
    bottom: f32,
}

impl Pieces {
    /// An empty first page; pieces are set between `top` and `bottom`, points from the top.
    pub fn new(top: f32, bottom: f32) -> Self {
        Self {
            pages: vec![Page::default()],
            waiting: Vec::new(),
            gap: 0.0,
            y: top,
            top,
            bottom,
        }
    }

    /// All pages.
    pub fn finish(mut self) -> Vec<Page> {
        self.set_waiting();
        self.pages
    }

    /// Leaves a gap; none at the top of a page.
    pub fn gap(&mut self, height: f32) {
        self.gap += height;
    }

    /// Adds a piece, with places from its own top.
    pub fn add(&mut self, height: f32, marks: Vec<Mark>) {
        self.settle();
        self.waiting.push(Piece {
            marks,
            height,
            before: std::mem::take(&mut self.gap),
            kept: false,
        });
    }

    /// Keeps the last piece on one page with the one that follows.
    pub fn keep(&mut self) {
        if let Some(last) = self.waiting.last_mut() {
            last.kept = true;
        }
    }

    /// Height left for a piece that follows, on the page where it would be set.
    pub fn room(&mut self) -> f32 {
        self.settle();
        let length = length(&self.waiting);
        let start = if self.overflows(&self.waiting) {
            self.top
        } else {
            self.y + self.waiting.first().map_or(0.0, |first| self.above(first))
        };
        self.bottom - start - length - self.gap
    }

    /// Sets the chain unless what follows still belongs to it.
    fn settle(&mut self) {
        if self.waiting.last().is_some_and(|last| !last.kept) {
            self.set_waiting();
        }
    }

    fn set_waiting(&mut self) {
        let chain = std::mem::take(&mut self.waiting);
        if self.overflows(&chain) {
            self.turn();
        }
        // What no page holds is torn where a page ends, between pieces.
        let torn = length(&chain) > self.bottom - self.top;
        for piece in chain {
            if torn && self.y + piece.before + piece.height > self.bottom {
                self.turn();
            }
            self.set(piece);
        }
    }

    fn set(&mut self, piece: Piece) {
        self.y += self.above(&piece);
        let place = self.y;
        if let Some(page) = self.pages.last_mut() {
            page.marks.extend(piece.marks.into_iter().map(|mut mark| {
                mark.lower(place);
                mark
            }));
        }
        self.y += piece.height;
    }

    /// Whether a chain reaches below the page begun.
    fn overflows(&self, chain: &[Piece]) -> bool {
        let above = chain.first().map_or(0.0, |first| self.above(first));
        self.y + above + length(chain) > self.bottom
    }

    /// The gap above a piece at the place reached.
    fn above(&self, piece: &Piece) -> f32 {
        if self.y > self.top { piece.before } else { 0.0 }
    }

    /// Begins a page, unless nothing stands on this one.
    fn turn(&mut self) {
        if self.y > self.top {
            self.pages.push(Page::default());
            self.y = self.top;
        }
    }
}

/// Height of a chain without the gap above it.
fn length(chain: &[Piece]) -> f32 {
    let heights: f32 = chain.iter().map(|piece| piece.height).sum();
    let gaps: f32 = chain.iter().skip(1).map(|piece| piece.before).sum();
    heights + gaps
}

#[cfg(test)]
mod tests {
    use super::super::page::Colour;
    use super::*;

    const TOP: f32 = 10.0;
    const HEIGHT: f32 = 10.0;
    /// A page holds ten pieces.
    const BOTTOM: f32 = TOP + 10.0 * HEIGHT;

    fn added(count: usize) -> Pieces {
        let mut pieces = Pieces::new(TOP, BOTTOM);
        add(&mut pieces, count);
        pieces
    }

    fn add(pieces: &mut Pieces, count: usize) {
        for _ in 0..count {
            let mark = Mark::Box {
                colour: Colour::Ink,
                x: 0.0,
                y: 0.0,
                width: 1.0,
                height: HEIGHT,
            };
            pieces.add(HEIGHT, vec![mark]);
        }
    }

    /// Places of the pieces on each page.
    fn places(pieces: Pieces) -> Vec<Vec<f32>> {
        let place = |mark: &Mark| match mark {
            Mark::Text { y, .. } | Mark::Box { y, .. } | Mark::Picture { y, .. } => *y,
        };
        let pages = pieces.finish();
        pages
            .iter()
            .map(|page| page.marks.iter().map(place).collect())
            .collect()
    }

    fn counts(pieces: Pieces) -> Vec<usize> {
        places(pieces).iter().map(Vec::len).collect()
    }

    #[test]
    fn what_is_kept_goes_to_the_next_page_with_what_follows() {
        let mut pieces = added(9);
        pieces.gap(4.0);
        add(&mut pieces, 1);
        pieces.keep();
        add(&mut pieces, 1);
        let places = places(pieces);
        assert_eq!((places[0].len(), places[1].len()), (9, 2));
        assert_eq!(places[1], [TOP, TOP + HEIGHT], "no gap at the top");
        let mut fitting = added(8);
        add(&mut fitting, 1);
        fitting.keep();
        add(&mut fitting, 1);
        assert_eq!(counts(fitting), [10]);
        assert_eq!(counts(added(10)), [10]);
        assert_eq!(counts(added(11)), [10, 1]);
    }

    #[test]
    fn a_chain_that_no_page_holds_is_torn_between_pieces() {
        let mut pieces = added(1);
        for _ in 0..12 {
            add(&mut pieces, 1);
            pieces.keep();
        }
        assert_eq!(counts(pieces), [1, 10, 2]);
        let mut tall = added(1);
        tall.add(BOTTOM, Vec::new());
        assert_eq!(counts(tall), [1, 0]);
    }

    #[test]
    fn room_is_left_on_the_page_where_it_will_be() {
        let mut pieces = added(3);
        assert_eq!(pieces.room(), 7.0 * HEIGHT);
        pieces.gap(5.0);
        assert_eq!(pieces.room(), 7.0 * HEIGHT - 5.0);
        let mut full = added(10);
        add(&mut full, 1);
        full.keep();
        assert_eq!(full.room(), 9.0 * HEIGHT);
    }
}
