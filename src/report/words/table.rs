//! The table of titles and glosses.

/// Last part of a key, title, gloss.
type Named = (&'static str, &'static str, &'static str);

/// Titles of measurements. The order here is the order in reports.
pub const TITLES: &[Named] = &[
    ("kind", "Kind", ""),
    ("ink", "Ink", ""),
    // Screens.
    (
        "ruling_lpi",
        "Ruling",
        "lines per inch, mean over the measured field",
    ),
    (
        "period_px",
        "Spacing in the photograph",
        "distance of neighbouring rows",
    ),
    (
        "angle_deg",
        "Angle",
        "counter-clockwise from the picture's horizontal",
    ),
    (
        "false_alarm",
        "Chance of a false alarm",
        "probability that structure without a screen would look this regular",
    ),
    (
        "false_alarm_log10",
        "Chance of a false alarm, as a power of ten",
        "how many such systems chance alone would make here",
    ),
    (
        "coherence",
        "In step with the screen",
        "share of the pattern that keeps step over the field, 0 to 1",
    ),
    ("amplitude", "Strength of the pattern", "in optical density"),
    (
        "prominence",
        "Edges on a fine square grid",
        "how far the grid stands out of its surroundings, times; printing devices reach 40 and more",
    ),
    (
        "elements_per_inch",
        "Picture elements of a printing device",
        "per inch, where the edges of the marks lie on such a grid",
    ),
    ("pitch_px", "Spacing of that grid in the photograph", ""),
    (
        "grid_angle_deg",
        "Angle of that grid",
        "counter-clockwise from the picture's horizontal",
    ),
    // Marks.
    (
        "density_per_mm2",
        "Marks per square millimetre",
        "of the usable field; those that blur has joined are counted apart",
    ),
    (
        "marked_area_density_per_mm2",
        "Marks per square millimetre where marks are",
        "bare paper and large solids left out; joined ones count as one",
    ),
    (
        "diameter_um",
        "Mark diameter",
        "of the circle with the same area",
    ),
    (
        "coverage",
        "Share of the field under marks",
        "0 = bare paper, 1 = solid",
    ),
    (
        "marked_area_coverage",
        "Share under marks where marks are",
        "0 = bare paper, 1 = solid",
    ),
    ("marked_share", "Share of the field that holds marks", ""),
    (
        "clark_evans",
        "Evenness of spacing (Clark–Evans index)",
        "1 = scattered at random, below 1 = bunched, towards 2.15 = evenly set",
    ),
    (
        "local_evenness",
        "Evenness of spacing beside the local tone",
        "1 = scattered at random, below 1 = bunched, towards 2 = evenly set",
    ),
    (
        "kept_distance_spacings",
        "Distance kept between dots",
        "in mean spacings; 0 = they do not keep apart",
    ),
    (
        "pair_peak",
        "Sharpness of the usual distance",
        "1 = no usual distance, above 3 = as in a lattice",
    ),
    (
        "row_order",
        "Dots set in rows",
        "0 = no rows, 1 = exact rows",
    ),
    ("elongation", "Length of dots over their width", "1 = round"),
    (
        "circularity",
        "Roundness of dots",
        "1 = round, less for long or ragged ones",
    ),
    (
        "flick_share",
        "Share of flicks",
        "dots longer than 1.6 times their width",
    ),
    ("size_spread", "Spread of mark sizes", "0 = all alike"),
    (
        "neighbour_size_spread",
        "Spread of sizes side by side",
        "the part that is not tone; 0 = neighbours alike",
    ),
    (
        "touching_ratio",
        "Touching marks",
        "count with those parted that blur joined, over plain count; 1 = none",
    ),
    (
        "ink_rim",
        "Ink at the rim of marks",
        "ln of rim over middle; 0 = even, above 0 = squeezed to the rim",
    ),
    (
        "solidity",
        "Solidity of the wider dots",
        "1 = whole blobs, less = hollow networks",
    ),
    (
        "solidity_low",
        "Solidity of the least solid quarter",
        "of the ink of the wider dots",
    ),
    (
        "alignment",
        "Long dots pointing the way of their neighbours",
        "1 = all one way, 0 = any way",
    ),
    (
        "ink_in_dots",
        "Share of ink in dots",
        "the rest lies in outlines and solids",
    ),
    (
        "diameter_over_blur",
        "Dot diameter over blur",
        "under 3 the sizes are blurred",
    ),
    // Lines.
    (
        "spacing_per_mm",
        "Lines per millimetre",
        "mean over the area covered",
    ),
    (
        "orientation_deg",
        "Direction of the lines",
        "counter-clockwise from the picture's horizontal",
    ),
    ("width_um", "Line width", "at half height"),
    ("width_px", "Line width in the photograph", ""),
    (
        "swelling",
        "Swelling along a line",
        "change of width over the middle width; 0 = even",
    ),
    (
        "pointed_ends",
        "Pointed ends",
        "share of free ends that taper",
    ),
    (
        "raggedness_um",
        "Roughness of line edges",
        "root mean square",
    ),
    ("raggedness", "Roughness of edges over size", ""),
    (
        "coherence_length_mm",
        "Length over which lines stay parallel",
        "",
    ),
    ("coherence_length_lines", "The same, in line spacings", ""),
    ("share_of_field", "Share of the field covered", ""),
    (
        "wander",
        "Wander of direction and spacing",
        "near 0 for a ruling machine or a screen, 0.1 and more for a hand",
    ),
    (
        "phase_coherence",
        "Evenness of ruling from place to place",
        "1 = as a machine rules",
    ),
    (
        "sharpness",
        "Clearness of the ruling",
        "share of the line pattern in one spacing and direction",
    ),
    (
        "hatched_share",
        "Share of the inked field that is hatched",
        "",
    ),
    (
        "windows_with_hatch",
        "Share of places with clear hatching",
        "",
    ),
    (
        "peak_sharpness",
        "Clearness of the hatching",
        "even ruling 0.5 and more, strewn dots under 0.3",
    ),
    (
        "orientation_coherence",
        "One direction over others",
        "0 = no direction, 1 = one only",
    ),
    (
        "ink_in_long_strokes",
        "Share of ink in long strokes",
        "ten widths and more; high for line work, low for dots",
    ),
    (
        "ink_in_patches",
        "Share of ink in broad patches",
        "too broad to be strokes",
    ),
    (
        "stroke_length_widths",
        "Length of strokes in widths",
        "1 = a round dot",
    ),
    (
        "lattice_like",
        "Two crossing systems as even as a machine's",
        "",
    ),
    // Grain.
    (
        "textured_share",
        "Share of the field that is broken texture",
        "",
    ),
    (
        "correlation_length_um",
        "Size of the texture",
        "distance over which the cover stays alike",
    ),
    (
        "correlation_length_px",
        "Size of the texture in the photograph",
        "",
    ),
    (
        "ink_chord",
        "Length of ink along a straight line",
        "in sizes of the texture",
    ),
    (
        "isotropy",
        "Alike in all directions",
        "1 = the same every way",
    ),
    (
        "negative_lobe",
        "Distance kept between grains",
        "0 = random grain; dots kept apart or on a lattice have more",
    ),
    (
        "fine_rise",
        "Rise of the spectrum towards fine detail",
        "powers of ten; 0 = it only falls, as in drawing and grain",
    ),
    (
        "fine_rise_of_windows",
        "The same, place by place",
        "powers of ten",
    ),
    (
        "spectral_peak",
        "How much one spacing prevails",
        "1 = none does, as in random grain",
    ),
    (
        "spectral_slope",
        "Fall of the spectrum",
        "steeper than −3 for round smooth grains",
    ),
    (
        "euler_per_correlation_area",
        "Patches less holes",
        "per square of the texture's size",
    ),
    (
        "holes_per_patch",
        "Holes in dark texture",
        "bare ground inside, per patch",
    ),
    (
        "outline_dimension",
        "Growth of outlines with size",
        "1 = large grains are as smooth as small ones, above 1 more ragged",
    ),
    (
        "size_tail",
        "Largest grains against the usual",
        "1 = all alike",
    ),
    (
        "share_apart",
        "Places where inks swing apart in fine spots",
        "share; process inks reach one half and more",
    ),
    (
        "ratio",
        "Independence of the colours in fine structure",
        "0 = one ink, 1 = independent inks",
    ),
    (
        "second_amplitude",
        "Strength of those fine colours",
        "in optical density",
    ),
    (
        "scale_px",
        "Width of those spots in the photograph",
        "pixels",
    ),
    ("tiles", "Places looked at for them", ""),
    (
        "speck_share",
        "Share of specks",
        "marks under a tenth of the usual area",
    ),
    (
        "tone_by_number",
        "Tone by number of marks",
        "1 = more marks make it darker, 0 = larger marks do",
    ),
    // Film.
    (
        "ground_seen",
        "Share of the field whose ground is seen",
        "between the marks",
    ),
    (
        "levels",
        "Levels of the ground",
        "1 = bare paper, or one film over all",
    ),
    (
        "lightest_lab",
        "Colour of the lightest ground",
        "CIELAB as photographed",
    ),
    ("lab", "Colour of the film", "CIELAB as photographed"),
    (
        "lab_on_white",
        "Colour of the film on white paper",
        "CIELAB, free of exposure and white balance",
    ),
    ("cover", "Share of the ground under film", ""),
    (
        "delta_e00",
        "Colour difference of film and paper",
        "CIEDE2000; 1 is just seen",
    ),
    ("dominance", "Share of the coloured ground that is film", ""),
    (
        "open_ground",
        "Film in the open ground",
        "share, where no mark stands",
    ),
    (
        "beneath_marks",
        "Film between marks against the open",
        "about 0 where the film runs beneath the marks",
    ),
    ("drift", "Unevenness of the film", "0 = even"),
    (
        "steadiest",
        "Unevenness of the evenest colour",
        "times that of the lightest ground; 1 = as even as bare paper",
    ),
    (
        "thickness_scatter",
        "Thickness of the main colour, place by place",
        "spread over its middle thickness; 0 = one thickness",
    ),
    (
        "thickness_swell",
        "Slow change of that thickness",
        "pools and streaks of a brush; 0 = one thickness",
    ),
    (
        "evenest_swell",
        "Slow change in the evenest colour",
        "0 = one thickness, as a tint stone lays it",
    ),
    ("hue_scatter", "Unevenness of the film's hue", "0 = even"),
    (
        "valley",
        "Film and paper apart",
        "1 = two separate levels, 0 = one runs into the other",
    ),
    (
        "mottle",
        "Coarse mottle",
        "optical density, between tiles of 1.27 mm",
    ),
    (
        "graininess",
        "Fine mottle",
        "optical density, inside such tiles",
    ),
    (
        "edge_overshoot",
        "Edge of the film",
        "above 0 = pooled, below 0 = fading, 0 = cut",
    ),
    (
        "edge_width_cells",
        "Width of the film's edge",
        "in 160ths of the frame",
    ),
    (
        "edge_waver_cells",
        "Waver of the film's edge",
        "in 160ths of the frame",
    ),
    (
        "scraped_lights",
        "Lights scraped or stopped out",
        "small bare patches ringed by film",
    ),
    // Layering.
    (
        "ink_hue",
        "Colour of the ink",
        "0 = neutral, about 1 = a pure primary",
    ),
    (
        "ink_hue_spread",
        "How far the ink's colour varies",
        "one ink: little; inked in colours: much",
    ),
    (
        "ground_hue_spread",
        "How far the ground's colour varies",
        "optical density",
    ),
    (
        "ink_over_ground",
        "Colour varies in the ink or the ground",
        "above 0 in the ink, below 0 in the ground (power of ten)",
    ),
    (
        "ink_ground_correlation",
        "Ink and ground change colour together",
        "−1 to 1",
    ),
    (
        "coloured_share",
        "Share of coloured ground",
        "film included",
    ),
    (
        "wash_share",
        "Share of ground under other colour",
        "neither paper nor film",
    ),
    ("wash_hue", "Strength of that colour", "optical density"),
    ("wash_hues", "Number of such colours", ""),
    ("wash_drift", "Unevenness of that colour", "0 = even"),
    (
        "pooled_rim",
        "Pooled rims",
        "above 0 where colour pooled at its edge, as a brush leaves it",
    ),
    (
        "border_off_marks",
        "Colour that misses the outlines",
        "share of its border where no mark stands",
    ),
    // The photograph.
    (
        "sharpness_lp_per_mm",
        "Finest detail kept",
        "line pairs per millimetre that keep 10 % of their contrast",
    ),
    (
        "sharpness_cycles_per_px",
        "Finest detail kept, in the picture",
        "cycles per pixel that keep 10 % of their contrast; 0.5 is the limit of any picture",
    ),
    (
        "blur_sigma_px",
        "Blur of edges",
        "standard deviation in pixels",
    ),
    (
        "noise",
        "Noise",
        "standard deviation on bare paper, as a share of full scale",
    ),
    (
        "clipped_share",
        "Share clipped",
        "pixels burnt out or blocked up",
    ),
    (
        "motion_ratio",
        "Motion",
        "blur in the worst direction over the best; 1 = none",
    ),
    (
        "blocking",
        "Compression blocks",
        "strength of the 8-pixel JPEG grid; 1 = none seen",
    ),
    ("note", "Note", ""),
];
