//! What a read must show to be trusted: every threshold of trust, with its unit, what it rests on, and on what it was measured.
//!
//! "No curve kept" says that the number was chosen when the stage was built and that nothing measured is on record for it;
//! `examples/retune.rs` draws the curve of each over photos with known truth.
use crate::diagnostics::RemarkCriteria;
use crate::register::{GlyphCriteria, SearchCriteria};

/// Every criterion of a read. [`super::decide()`] applies all of them but [`Self::search`] and the noise of [`Self::glyph`], by which the
/// search itself is steered.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Criteria {
    /// The search for the dial.
    pub search: SearchCriteria,
    /// One numeral or word.
    pub glyph: GlyphCriteria,
    /// The remarks.
    pub remarks: RemarkCriteria,
    /// Least width and height of a picture. px. No curve kept.
    pub side_px: usize,
    /// Least range of a picture's levels, its darkest and lightest thousandth left out. Levels, 0..255. No curve kept.
    pub levels: u8,
    /// Agreement with the print below which nothing is said to be found, and from which something that is not trusted. -1..1. It chooses
    /// the words of a refusal and no more. No curve kept.
    pub resembles: f64,
    /// Matches from which many speak for a place. Count. With the two below measured on 942 looks for dials of photographed clusters where
    /// they are not, by day, dusk and night: faces of one family agree to 0.9 (their numerals tell them apart), others to 0.44 with 15
    /// matches and more, and to 0.56 with fewer.
    pub many_matches: usize,
    /// Least agreement with the print where hardly any matches speak for the place. -1..1. See [`Self::many_matches`].
    pub print_match: f64,
    /// Least agreement where many do. -1..1. See [`Self::many_matches`].
    pub print_match_many: f64,
    /// Least agreement where numerals or words prove the dial, see [`Self::proving_glyphs`]. -1..1. On its looks: of other dials three are proved, all rev
    /// counters with nearly the same numerals, which agree to 0.33 and less; with one numeral more covered another would be, which agrees to 0.45.
    pub print_match_proved: f64,
    /// The same where many matches speak for the place, too. -1..1. On the same looks 0.31 at least where the place is right (a reference in bright
    /// haze, the photo at night); one of those three has so many, and agrees to 0.21.
    pub print_match_proved_many: f64,
    /// Numerals or words of the dial's own from which they prove it. Count. With the next on 2,664 looks at renderings and photographs (1 December),
    /// of which 520 show numerals of the dial itself and 720 those of others: with three 478 of the dial itself are proved, with four 412, with
    /// five 323, and of the others three each.
    pub proving_glyphs: usize,
    /// Most of those that say anything that may speak against it for that: others, or nothing like the dial's (a needle or its shadow lies there). Share.
    /// On the same looks with four of its own: 408 and none of the others at 0, 412 and three at 0.125, 413 and nine at 0.2. Two right ones of 727
    /// answers at changed copies of photographs need it (seven of eight are theirs).
    pub not_proving: f64,
    /// Numerals or words of the dial's own from which they outdo what a mirrored cabin put into the reference. Count. No curve kept.
    pub outdoing_glyphs: usize,
    /// Most of the print that the photo may clearly contradict: other numerals at the same places, a mirror image. Share. On 475
    /// looks for dials where they are (28 November): 0.21 at most (a lit display, a wheel before the dial); of 771
    /// where they are not three are answered whatever it is from 0.14 on, since agreement and numerals refuse before. The first look counts the
    /// needles too: 0.24 on a right place.
    pub contradicted: f64,
    /// Numerals or words that are not the dial's from which it is another dial: one may stand in a reflection, two do not by chance. Count.
    pub other_glyphs: usize,
    /// The same as a share of all that can be made out. 0..1. On the looks of [`Self::other_likeness`]: 0.25 at most of four and more where the
    /// place is right; of 162 places of other dials 134 are refused at 0.3, 121 at 0.5.
    pub other_share: f64,
    /// Likeness below which one that differs is another whatever the rest shows. -1..1. With the next two measured on 2,664 looks at renderings and
    /// photographs, of their own dials and of others: 296 right readings with 1,692 numerals or words, 162 places of other dials with two and
    /// more. No right reading is refused from 0.3 to 0.6, one from 0.65 on; of the others 127 to 136.
    pub other_likeness: f64,
    /// So much less alike than the clearest of them, one that differs is another: a blur that is not quite the photo's makes all of them less alike.
    /// Difference of -1..1. On the same looks: no right reading is refused from 0.15 on, one at 0.1; of the others 138 at 0.1, 134 at 0.25, 127 at 0.5.
    pub less_alike: f64,
    /// Likeness from which one is the dial's own, however clear the rest. -1..1. On the same looks: 95 of 100 of right readings have 0.83 and more.
    pub own_likeness: f64,
    /// What those others differ in both senses, all together, from which they count. Share of ink. A single digit that is
    /// another makes 0.1 and more (renderings).
    pub other_ink: f64,
    /// Likeness of a numeral or word (of several digits, of the least like) to the reference's below which the photo shows nothing like it. -1..1. On
    /// the looks of [`Self::other_likeness`], with the next two: no right reading is refused up to 0.5; of 162 places of other dials 57 at 0.1,
    /// 74 at 0.2, 105 at 0.35, 120 at 0.5.
    pub unlike: f64,
    /// Share of all that can be made out from which so unlike ones refuse the place. 0..1. On the same looks: 0.33 at most where the place is right.
    pub unlike_share: f64,
    /// Numerals or words from which that share says something. Count. Of 26 right readings with two (changed copies of photographs, the most of
    /// them) none has two unlike ones, one gross answer has.
    pub unlike_glyphs: usize,
    /// Least score of the best line in the vote. Contrast of the reference's needle. Of 120 drawn dials without a needle and with a reflection two
    /// pass all else, with 0.035 and 0.049; right readings have 0.10 at least (a white needle in glare, a needle of 34 px).
    pub line_score: f64,
    /// Least contrast of a needle against its contrast in the reference photo. Share. Ground: a reflection takes the contrast of half a needle
    /// (dials without a needle: 0.05, the least that is fitted).
    pub needle_step: f64,
    /// Contrast below which it must stand clear of the scatter besides. Share. Ground: a reflection leaves a faint line that stands well
    /// above the scatter. No curve kept.
    pub needle_step_clear: f64,
    /// How clear. Scatters of the comparison. No curve kept.
    pub needle_step_noise: f64,
    /// Least share of the needle's length that shows it. 0..1. Of 2,347 readings of drawn dials through 182 dial files and 83 of photographed
    /// ones, one right reading has less (0.36); a dot that was taken for the needle has 0.40 (its reference's cover mirrored a seat over the
    /// needle, so that its contrast had another colour). The next have 0.43 (an answer 1.9 % of the scale off) and 0.45.
    pub needle_seen: f64,
    /// The same of a needle whose rest is plain by the next two and the outline of [`Self::alone_outline`]: a mirrored window hides two thirds of it.
    /// 0..1. On 2,664 looks at renderings and photographs, and 1,360 at changed copies of photographs: one right needle of a rendering has 0.34; no other
    /// line of 26 px and more at a place of the dial has 0.3 to 0.45 with such a score and step. Through the six dial files of that dial 107 of 115
    /// looks are answered for 103, none grossly wrong.
    pub needle_seen_plain: f64,
    /// Score in the vote from which it is. Contrast of the reference's needle.
    pub plain_score: f64,
    /// Contrast of the needle from which it is. Share of that in the reference.
    pub plain_step: f64,
    /// Least length of the needle in px, in the photo and in the reference photo. On 160 looks at photographed dials: of 44 with 14 to 25 px
    /// six were wrong by more than 5 % of the scale, of 116 with more than that none.
    pub needle_px: f64,
    /// Best line over the second below which either may be the needle. Ratio. Of 382 looks at renderings and photographed dials whose line was
    /// within 3 % of the truth, dials of less than 150 px left out, two have less: 1.02 at night, 1.29 beside a reflection. Two equal needles
    /// drawn on one face: 1.29 at most, measured before lines that lie over each other counted as one; since then none of 60 was answered.
    pub runner_up: f64,
    /// Share of its length from which the best line is the needle in spite of lines that are nearly as good, if none of those shows much. 0..1.
    /// Of 80 looks (renderings of eight dials through 80 dial files, a photographed cluster through 24) with such lines: 0.81 to 0.94 where the
    /// best was right and the others' edges of a glow, 0.57 where a mirrored seat was taken for the needle.
    pub alone_seen: f64,
    /// Most that any of those others may show of its better half for that. 0..1. Where a glow had left 0.8 and more of the
    /// needle itself: 0.11 to 0.54; the needle beside that mirrored seat shows 0.84 of its whole.
    pub runner_up_seen: f64,
    /// How unlike the needle's outline the best line may be for that. See [`Self::outline`], of which 3 is the most of right readings.
    pub alone_outline: f64,
    /// How unlike the needle's outline a line may be, see [`crate::needle::NeedleFit::squared_mahalanobis`]. Squared standard uncertainties of
    /// two numbers. Measured on 515 readings of renderings, most of them sharpened, darkened, blurred or with a reflection laid over: 3
    /// at most; the edge of a reflection that was taken for a needle: 18 (both without the doubt of a pixel, which lowers them). A small
    /// needle that is lit in the photo and was not in the reference: 9.2 to 10.4 in five right readings; over 1,260 looks at renderings and
    /// photographs, of other dials too, the same is answered from 8.1 to 14.4, and one wrong more at 18.
    pub outline: f64,
    /// Largest standard uncertainty of the needle's direction by itself. Degrees. Measured on the same readings: 0.2 at most, so that this is
    /// far beyond any that was right.
    pub needle_sigma_deg: f64,
    /// Most that the fit may lie beside the line of the vote within the needle's length: beyond, it belongs to another line. Radii. On 410
    /// looks at renderings and photographed dials: 0.040 at most where the needle was read right, from 0.044 on hardly any is.
    pub needle_off_line: f64,
    /// Most that the line may pass the pivot beside where the camera's pose lets it. Radii of the marks' circle. No curve kept.
    pub off_pivot: f64,
    /// The same where numerals do not prove the dial: then another dial's needle has another pivot. Standard uncertainties of where the pose lets it.
    /// On 1,110 answers for renderings, photographs and changed copies of photographs: 4.3 at most where the dial was right and not proved, 7.2 where
    /// it was (pivots given a little beside, needles of another height); 7.7 on the one photo that another dial's file answered.
    pub off_pivot_unproved: f64,
    /// Distance beyond an end mark from which the needle is off the scale. Standard uncertainties of the reading. Ground: the 95 % band.
    pub off_scale: f64,
    /// The same at least, since end marks have width themselves. Degrees. No curve kept.
    pub off_scale_deg: f64,
    /// Distance beyond an end mark from which a needle that its band still holds on the scale is doubtful. Share of the scale's sweep. Ground: a
    /// value further off the scale than its coarsest readers can see (common practice: 1 to 2 % of its span) is none. No curve.
    pub off_scale_most: f64,
}

impl Default for Criteria {
    fn default() -> Self {
        Self {
            search: SearchCriteria::default(),
            glyph: GlyphCriteria::default(),
            remarks: RemarkCriteria::default(),
            side_px: 64,
            levels: 12,
            resembles: 0.4,
            many_matches: 15,
            print_match: 0.55,
            print_match_many: 0.48,
            print_match_proved: 0.47,
            print_match_proved_many: 0.3,
            proving_glyphs: 4,
            not_proving: 0.125,
            outdoing_glyphs: 5,
            contradicted: 0.25,
            other_glyphs: 2,
            other_share: 0.3,
            other_likeness: 0.55,
            less_alike: 0.25,
            own_likeness: 0.72,
            other_ink: 0.1,
            unlike: 0.35,
            unlike_share: 0.6,
            unlike_glyphs: 2,
            line_score: 0.09,
            needle_step: 0.09,
            needle_step_clear: 0.12,
            needle_step_noise: 2.5,
            needle_seen: 0.45,
            needle_seen_plain: 0.3,
            plain_score: 0.4,
            plain_step: 0.5,
            needle_px: 26.0,
            runner_up: 1.35,
            alone_seen: 0.8,
            runner_up_seen: 0.6,
            alone_outline: 3.0,
            outline: 13.0,
            needle_sigma_deg: 1.5,
            needle_off_line: 0.042,
            off_pivot: 0.12,
            off_pivot_unproved: 5.5,
            off_scale: 2.0,
            off_scale_deg: 0.25,
            off_scale_most: 0.03,
        }
    }
}
