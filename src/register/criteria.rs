//! When a search is content, and what it takes up at all. Whether the place that it gives is trusted is decided later, from what was
//! measured there; these only say where to look and when to stop.
//!
//! What a measured number means (when a cell of the face agrees, how a line's step is clipped) is no criterion: it stands where it is
//! measured.

/// Criteria of the search for the dial.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct SearchCriteria {
    /// Distance of a feature's best match over that of the best one elsewhere on the dial, above which the match is no match. Share.
    /// Ground: common practice for such features is 0.7 to 0.9 (from memory); set looser because the consensus of places decides. No curve.
    pub match_ratio: f32,
    /// Distinct matches from which a place is proposed. Count. Ground: three points fix a plane's affine map, and the alignment finds the rest.
    /// Of 460 parts of renderings, cut out about the dial, ten more are found than with 4 (a face of five marks and nothing round it shows
    /// three to six matches), with 2 no more; of 182 photos of other dials none is answered either way; a refusal costs 6 % more.
    pub least_support: usize,
    /// Distinct matches from which a place takes its matches out of the search for others. Count. No curve; it only saves time.
    pub own_support: usize,
    /// Smallest dial that is looked for: radius of the marks' circle where it is narrowest. px. No curve.
    pub least_radius_px: f64,
    /// Most foreshortening of a proposed place: long over short radius. Ratio. Ground: 2 is a tilt of 60°. No curve.
    pub most_foreshortened: f64,
    /// Least and most size of the dial's near and far edge against its middle, by perspective. Ratios. No curve.
    pub perspective: [f64; 2],
    /// Matches from which, with [`Self::clear_agreement`], another place will not do better. Count. No curve kept.
    pub clear_support: usize,
    /// Agreement with the print from which another place will not do better. -1..1. No curve kept; right places of renderings agree to 0.75
    /// and more.
    pub clear_agreement: f64,
    /// Matches from which a place found without the tilted views is looked at. Count. With the two below measured on renderings: a right
    /// place agrees to 0.75 and more and most wrong ones to less than 0.4; the limit is stricter, since the whole search is still to come.
    /// Few matches with a wrong tilt may pass all the same, so that the finer look is judged again.
    pub quick_support: usize,
    /// Matches from which a proposed place is looked at closer at once: in place of the coarse look where the print agrees clearly then, else
    /// besides it. Count. See [`Self::quick_support`].
    pub quick_sure: usize,
    /// Agreement from which such a place is taken. -1..1. See [`Self::quick_support`].
    pub quick_agreement: f64,
    /// Agreement with the print in the first, coarse look at the place of an earlier photo. -1..1. Measured on frames and on photos that
    /// are none: the same place agrees to 0.7, another to 0.1.
    pub coarse_agreement: f64,
    /// Agreement in the coarse look below which a proposed place is not looked at closer, and in a closer look at once below which that is
    /// nothing. -1..1. Measured on 2,473 places proposed in
    /// renderings and photographs, of the dial and of others: none of the 323 that agreed to 0.4 and more in the closer look had less than 0.2,
    /// and none of the 192 that agreed to 0.6 less than 0.4; of all, 70 % had less than 0.2.
    pub hopeless: f64,
    /// Correlation along the rings of the face below which a place inside a round outline is not looked at. -1..1. Measured on eight
    /// renderings at night that nothing else finds: right places have 0.43 to 0.72, of the others hardly any more than 0.41.
    pub likeness: f64,
    /// Farthest that a dial may have moved since an earlier photo of the scene. Dial units. Ground: well below the distance of two ticks.
    pub same_scene: f64,
    /// Agreement that the dial's own print must gain to be taken when nothing round it holds it, and a place by an outline to be taken in place
    /// of one by features. Difference of -1..1. No curve kept; with less, a place by an outline took over from the same one by features.
    pub better_alone: f64,
}

impl Default for SearchCriteria {
    fn default() -> Self {
        Self {
            match_ratio: 0.92,
            least_support: 3,
            own_support: 8,
            least_radius_px: 18.0,
            most_foreshortened: 2.0,
            perspective: [0.55, 1.7],
            clear_support: 9,
            clear_agreement: 0.72,
            quick_support: 6,
            quick_sure: 12,
            quick_agreement: 0.8,
            coarse_agreement: 0.4,
            hopeless: 0.2,
            likeness: 0.4,
            same_scene: 0.04,
            better_alone: 0.06,
        }
    }
}

/// Criteria for one numeral or word.
///
/// Measured on numerals and words of right readings: of 1,161 in 223 renderings with reflections, shade, blur and night 99 % have less than 0.09 of the
/// lesser of missing and extra ink, of 531 in 73 photographs 99 % less than 0.17.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct GlyphCriteria {
    /// Grain over a glyph's contrast in the photo from which it cannot be made out. Share. No curve kept.
    pub noise: f64,
    /// Missing and extra ink together, from which it may be another. Share of its ink. No curve kept.
    pub differs: f64,
    /// The lesser of the two, from which it may be another: its likeness decides. Share of its ink. Ground: glare and shade do one of the two; no curve kept.
    pub in_both: f64,
}

impl Default for GlyphCriteria {
    fn default() -> Self {
        Self { noise: 0.14, differs: 0.2, in_both: 0.02 }
    }
}
