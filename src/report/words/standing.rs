//! What stands in every report: cautions, how to read it, aids to the charts.

/// Cautions, each with its heading.
pub const CAUTIONS: &[(&str, &str)] = &[
    (
        "What this is",
        "Evidence about how the sheet was printed, measured on photographs. It is not an appraisal, not an opinion of value, and not an authentication: who made it, when, and whether it is right are for a qualified person with the sheet in hand.",
    ),
    (
        "What it cannot see",
        "A photograph does not show a plate mark, the relief of the ink, the back of the sheet or the paper's make. Reproductions without a screen (collotype, line block, some photogravures) and screens finer than the photograph resolves can pass for hand work.",
    ),
    (
        "Leave the sheet as it is",
        "No wet, solvent, abrasive or other destructive test is needed or advised. Rest the loupe on a clear spacer or a mount, not on the printed surface.",
    ),
    (
        "Ultraviolet light",
        "If you examine by ultraviolet lamp, use long-wave UV-A only, briefly, with UV-blocking goggles; never look into the lamp, and never use short-wave UV on works of art.",
    ),
    (
        "Law and practice",
        "Local law and licensed practice come first: rules on describing, selling, exporting and valuing prints differ from place to place.",
    ),
];

/// How to read a weight.
pub const WEIGHT_AID: &str = "A weight counts powers of ten against the average of the five processes: +1 is ten times for this process, −1 ten times against it. The weights of all rows add up; their sum, taken together with how common such prints are among those of their process, limited by the number of reference specimens and set against the other four processes, gives the figure at the top, unless a screen on one of several photographs raised the chance of a reproduction or a photograph is too coarse or too poor to show a screen, when only a fifth of what it says counts between the other four and it excludes no reproduction. Findings that repeat each other share one say, and one says more beside some findings than beside others, so the weight of a row depends on the others, and the line under its name tells what it is looked at for, not which way it speaks here.";

/// Source of the words for strength.
pub const STRENGTH_SOURCE: &str = "Words of strength follow the ENFSI Guideline for Evaluative Reporting (2015): 2–10 weak, 10–100 moderate, 100–1000 moderately strong, 1000–10\u{202f}000 strong, 10\u{202f}000–1\u{202f}000\u{202f}000 very strong, above that extremely strong support.";

/// What an interval means.
pub const INTERVAL_AID: &str = "Figures in brackets are 95 % intervals: of intervals made like this nineteen in twenty hold the true figure of the place photographed.";

/// Aid to the histogram of mark sizes.
pub const SIZES_AID: &str = "Each bar counts the separate marks of that size. Hand-made dots spread widely in one place; a stochastic screen or an inkjet gives one narrow peak; a halftone spreads with the tone.";

/// Aid to the picture of regularities.
pub const SPECTRUM_AID: &str = "Each point stands for one spacing and direction: the farther from the centre, the finer. A printing screen gives sharp isolated spots in a square or diamond; hatching gives one pair of spots or a short smear; loose hand work and stone grain give only a soft cloud.";

/// Aid to the scatter of ink and ground colours.
pub const LAYERING_AID: &str = "Each point is one patch of ink. High: the ink itself is coloured. Far to the right: the ground round it is coloured. Points that climb speak for colour in the ink, points that only run to the right for a wash or a tint under neutral ink.";

/// Aid to the bars of weights.
pub const WEIGHTS_AID: &str = "Bars to the right speak for the process named under them, bars to the left against it. Numbers are powers of ten: 1 is ten times, 2 a hundred times. The bars add up; findings that repeat each other share one say, and each is weighed in the company of the others; the support given at the top counts further how common such prints are among those of their process.";

/// Aid to the bars of weights of several photographs.
pub const WEIGHTS_AID_OF_SEVERAL: &str = "Each bar is the average over the photographs on which that was measured: what two of them say alike counts once, and one by itself may say more, less or the opposite. The value beside a weight in the table is that of one photograph. Bars to the right speak for the process named under them, bars to the left against it. Numbers are powers of ten: 1 is ten times, 2 a hundred times. The bars add up; findings that repeat each other share one say, and each is weighed in the company of the others; the support given at the top counts further how common such prints are among those of their process, and a screen that one photograph shows can raise it.";

/// Aid to the layers over the photograph, a sentence a layer: only those that are drawn are explained.
pub mod layers_aid {
    /// Parts that were not measured.
    pub const LEFT_OUT: &str = "Grey: parts left out, outside the loupe's field (a dashed circle where it is round), in glare or burnt out.";
    /// Ground under a film, with no other colour beside it.
    pub const FILM: &str = "Amber: ground covered by an even film of colour.";
    /// Ground under a film, and ground of another colour.
    pub const FILM_AND_OTHER: &str = "Amber: ground covered by an even film of colour; violet: ground of another colour, such as a wash.";
    /// A straight border.
    pub const BORDER: &str =
        "Dashed line: where one colour ends along a straight line, across whatever else is there.";
    /// Marks.
    pub const MARKS: &str = "Red outlines: marks that were measured.";
    /// Directions of hatching.
    pub const HATCHING: &str = "Dashes: the directions of hatching, one colour a system.";
    /// Strokes that were followed.
    pub const STROKES: &str =
        "Green lines: the middles of strokes that were followed from end to end.";
    /// Screens over the whole photograph.
    pub const SCREEN_DIRECTIONS: &str = "Lines through the middle: the directions of printing screens, by ink as named in the corner; where two run alike they are dashed in turn.";
    /// Screens over the detail.
    pub const SCREEN_GRIDS: &str = "Grid of lines: the rows of a printing screen's dots, by ink as named in the corner; where two run alike they are dashed in turn.";
    /// Colour of ink and ground.
    pub const COLOURS: &str = "Discs: the colour of the ink itself at that place; the ring round each: the colour of the ground there, both as they would look on white paper.";
}

/// Glosses of units.
pub const UNITS_AID: &str = "Units: D is optical density (0.3 darkens to one half); L* is lightness and C*ab strength of colour (CIELAB); ΔE00 is a difference of colour (CIEDE2000), of which 1 can just be seen; log10 is a power of ten; lp/mm are line pairs per millimetre; lpi are screen lines per inch.";
