//! Where an error comes from: the identity of an independent source. It survives saving, so that old and new readings still share their
//! dial's errors. In files it is a text, and sources stand in the order of their texts.
use serde::{Deserialize, Deserializer, Serialize, Serializer};
use std::cmp::Ordering;
use std::fmt::{Display, Formatter, Result as Written};

/// A side of a comparison.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Which {
    /// Before the change.
    Before,
    /// After the change.
    After,
}

impl Which {
    /// "before" or "after".
    pub fn word(self) -> &'static str {
        match self {
            Which::Before => "before",
            Which::After => "after",
        }
    }
    /// The other side.
    pub fn other(self) -> Self {
        match self {
            Which::Before => Which::After,
            Which::After => Which::Before,
        }
    }
}

/// An independent source of error. Two of one text are one source.
#[derive(Clone, Debug)]
pub enum Source {
    /// `dial:<id>/<cause>`: of a dial file, shared by every photo read with it.
    Dial(String, Cause),
    /// `photo:<id>/<cause>`: of one photo alone.
    Photo(String, Cause),
    /// `stiction`: a needle that sticks, alike in every photo of a time; `before/stiction`: on one side of a comparison.
    Stiction(Option<Which>),
    /// `ambient/before`: the ambient temperature of a side.
    Ambient(Which),
    /// Any other text.
    Other(String),
}

/// What errs in a dial file or a photo; its number counts from 0.
#[derive(Clone, Debug)]
pub enum Cause {
    /// `mark/3`: the place of a mark.
    Mark(usize),
    /// `mark/3/hidden`: what the needle hid of it.
    Hidden(usize),
    /// `plane/0`: an independent direction of the dial's plane.
    Plane(usize),
    /// `pivot/fault/0`: an independent direction in which the pivot lies elsewhere than the file says. (`pivot/0` was another source once.)
    PivotFault(usize),
    /// `askew`: ticks that do not point to the pivot.
    Askew,
    /// `roll`: which way is up.
    Roll,
    /// `thermometer/0`: the other thermometer that a scale rests on.
    Thermometer(usize),
    /// `gauge/0`: how right the gauge is, as declared.
    Gauge(usize),
    /// `scale/shape`: the scale's shape between marks.
    Shape,
    /// `scale/shape/0`: an independent part of it.
    ShapeOf(usize),
    /// `needle`: the fit of the needle's line.
    Needle,
    /// `needle/edges`: its two edges.
    Edges,
    /// `needle/blur`: the blur along it.
    Blur,
    /// `registration/0`: an independent direction of where the dial is in the photo.
    Registration(usize),
    /// Any other text.
    Other(String),
}

impl Source {
    /// Whether it belongs to one photo alone: not to the dial, and not a needle that sticks.
    pub fn is_own(&self) -> bool {
        matches!(self, Source::Photo(..))
    }
    /// Whether it belongs to a dial file.
    pub fn is_dial(&self) -> bool {
        matches!(self, Source::Dial(..))
    }
    /// Whether it is the gauge's own accuracy, as declared.
    pub fn is_gauge(&self) -> bool {
        matches!(self, Source::Dial(_, Cause::Gauge(_)))
    }
    /// Whether it is a needle that sticks.
    pub fn is_stiction(&self) -> bool {
        matches!(self, Source::Stiction(_))
    }
    /// The same on a side of a comparison: a needle that sticks is a source of each side's own, which all its photos share and the other
    /// side does not.
    pub fn on(&self, side: Which) -> Self {
        match self {
            Source::Stiction(None) => Source::Stiction(Some(side)),
            other => other.clone(),
        }
    }
    fn spelled(&self) -> ([&str; 3], Option<&Cause>) {
        match self {
            Source::Dial(id, cause) => (["dial:", id, "/"], Some(cause)),
            Source::Photo(id, cause) => (["photo:", id, "/"], Some(cause)),
            Source::Stiction(None) => (["", "", "stiction"], None),
            Source::Stiction(Some(side)) => ([side.word(), "/", "stiction"], None),
            Source::Ambient(side) => (["ambient", "/", side.word()], None),
            Source::Other(text) => (["", "", text], None),
        }
    }
    fn letters(&self) -> impl Iterator<Item = u8> {
        let (words, cause) = self.spelled();
        words.into_iter().flat_map(str::bytes).chain(cause.into_iter().flat_map(Cause::letters))
    }
}

impl Cause {
    fn spelled(&self) -> (&str, Option<usize>, &'static str) {
        match self {
            Cause::Mark(k) => ("mark/", Some(*k), ""),
            Cause::Hidden(k) => ("mark/", Some(*k), "/hidden"),
            Cause::Plane(k) => ("plane/", Some(*k), ""),
            Cause::PivotFault(k) => ("pivot/fault/", Some(*k), ""),
            Cause::Askew => ("askew", None, ""),
            Cause::Roll => ("roll", None, ""),
            Cause::Thermometer(k) => ("thermometer/", Some(*k), ""),
            Cause::Gauge(k) => ("gauge/", Some(*k), ""),
            Cause::Shape => ("scale/shape", None, ""),
            Cause::ShapeOf(k) => ("scale/shape/", Some(*k), ""),
            Cause::Needle => ("needle", None, ""),
            Cause::Edges => ("needle/edges", None, ""),
            Cause::Blur => ("needle/blur", None, ""),
            Cause::Registration(k) => ("registration/", Some(*k), ""),
            Cause::Other(text) => (text, None, ""),
        }
    }
    fn letters(&self) -> impl Iterator<Item = u8> {
        let (word, number, end) = self.spelled();
        word.bytes().chain(number.into_iter().flat_map(digits)).chain(end.bytes())
    }
}

/// A number's decimal digits.
fn digits(number: usize) -> impl Iterator<Item = u8> {
    let last = number.checked_ilog10().unwrap_or(0);
    (0..=last).rev().map(move |k| b'0' + (number / 10_usize.pow(k) % 10) as u8)
}

impl From<&str> for Cause {
    fn from(text: &str) -> Self {
        let number = text.chars().filter(char::is_ascii_digit).collect::<String>().parse().unwrap_or(0);
        let numbered = [
            Cause::Mark,
            Cause::Hidden,
            Cause::Plane,
            Cause::PivotFault,
            Cause::Thermometer,
            Cause::Gauge,
            Cause::ShapeOf,
            Cause::Registration,
        ];
        let plain = [Cause::Askew, Cause::Roll, Cause::Shape, Cause::Needle, Cause::Edges, Cause::Blur];
        let mut known = numbered.into_iter().map(|of| of(number)).chain(plain);
        known.find(|p| p.letters().eq(text.bytes())).unwrap_or_else(|| Cause::Other(text.to_string()))
    }
}

impl From<&str> for Source {
    fn from(text: &str) -> Self {
        let of = |kind: &str| text.strip_prefix(kind)?.split_once('/').map(|(id, cause)| (id.to_string(), Cause::from(cause)));
        let sides = [Which::Before, Which::After];
        let mut plain = sides.map(Source::Ambient).into_iter().chain([None, Some(Which::Before), Some(Which::After)].map(Source::Stiction));
        let plain = plain.find(|s| s.letters().eq(text.bytes()));
        let dial = of("dial:").map(|(id, cause)| Source::Dial(id, cause));
        let photo = || of("photo:").map(|(id, cause)| Source::Photo(id, cause));
        plain.or(dial).or_else(photo).unwrap_or_else(|| Source::Other(text.to_string()))
    }
}

impl Display for Cause {
    fn fmt(&self, f: &mut Formatter) -> Written {
        let (word, number, end) = self.spelled();
        f.write_str(word)?;
        number.map_or(Ok(()), |k| write!(f, "{k}"))?;
        f.write_str(end)
    }
}

impl Display for Source {
    fn fmt(&self, f: &mut Formatter) -> Written {
        let (words, cause) = self.spelled();
        words.into_iter().try_for_each(|w| f.write_str(w))?;
        cause.map_or(Ok(()), |p| p.fmt(f))
    }
}

/// What a source and a part of one have alike: the order of their texts, and the text as what stands in files.
macro_rules! by_text {
    ($($name:ty),*) => {$(
        impl Ord for $name {
            fn cmp(&self, other: &Self) -> Ordering {
                self.letters().cmp(other.letters())
            }
        }
        impl PartialEq for $name {
            fn eq(&self, other: &Self) -> bool {
                self.cmp(other).is_eq()
            }
        }
        impl Eq for $name {}
        impl PartialOrd for $name {
            fn partial_cmp(&self, other: &Self) -> Option<Ordering> {
                Some(self.cmp(other))
            }
        }
        impl From<String> for $name {
            fn from(text: String) -> Self {
                text.as_str().into()
            }
        }
        impl Serialize for $name {
            fn serialize<S: Serializer>(&self, to: S) -> Result<S::Ok, S::Error> {
                to.collect_str(self)
            }
        }
        impl<'de> Deserialize<'de> for $name {
            fn deserialize<D: Deserializer<'de>>(from: D) -> Result<Self, D::Error> {
                String::deserialize(from).map(Self::from)
            }
        }
    )*};
}
by_text!(Source, Cause);

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_text_stays_as_it_is_and_keeps_its_place() {
        let texts = [
            "",
            "/",
            "ambient/after",
            "ambient/before",
            "after/stiction",
            "askew",
            "before/stiction",
            "dial",
            "dial:",
            "dial:1f2e",
            "dial:1f2e/",
            "dial:1f2e/askew",
            "dial:1f2e/gauge/0",
            "dial:1f2e/gauge/00",
            "dial:1f2e/mark/10",
            "dial:1f2e/mark/10/hidden",
            "dial:1f2e/mark/2",
            "dial:1f2e/mark/999999999999999999999",
            "dial:1f2e/pivot/0",
            "dial:1f2e/pivot/fault/1",
            "dial:1f2e/plane/0",
            "dial:1f2e/roll",
            "dial:1f2e/scale/shape",
            "dial:1f2e/scale/shape/7",
            "dial:1f2e/thermometer/1",
            "dial:é/x/y",
            "photo:77ab/needle",
            "photo:77ab/needle/blur",
            "photo:77ab/needle/edges",
            "photo:77ab/registration/8",
            "stiction",
            "stiction/2",
            "tilt",
            "mark/1",
        ];
        let mut sources: Vec<Source> = texts.into_iter().map(Source::from).collect();
        assert!(sources.iter().zip(texts).all(|(s, t)| s.to_string() == t), "{sources:?}");
        sources.sort();
        let mut sorted = texts.map(String::from);
        sorted.sort();
        assert_eq!(sources.iter().map(Source::to_string).collect::<Vec<_>>(), sorted);
    }

    #[test]
    fn what_is_asked_of_a_source() {
        let s = |text: &str| Source::from(text);
        assert_eq!(s("dial:1f2e/mark/3"), Source::Dial("1f2e".into(), Cause::Mark(3)));
        assert!(s("photo:7/needle").is_own() && s("dial:d/mark/1").is_dial() && s("dial:d/gauge/1").is_gauge() && !s("gauge/1").is_gauge());
        assert_eq!(s("stiction").on(Which::After), s("after/stiction"));
        assert!(s("after/stiction").is_stiction() && s("after/stiction").on(Which::Before) == s("after/stiction"));
    }
}
