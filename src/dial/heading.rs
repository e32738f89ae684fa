//! The first look at a file of ours: what it calls itself and its version, whatever else it holds. Nothing else of it is kept, so that a
//! file costs no more memory than its bytes before it is known to be one.
use serde::Deserialize;
use serde::de::{Deserializer, IgnoredAny, MapAccess, SeqAccess, Visitor};

/// What is looked at before anything else.
#[derive(Deserialize)]
pub(crate) struct Heading {
    /// What the file calls itself.
    pub format: Option<String>,
    /// The version of its format.
    #[serde(default)]
    pub format_version: Whole,
}

/// A whole number from 0; `None` for anything else, which is passed over.
#[derive(Default)]
pub(crate) struct Whole(pub Option<u64>);

impl<'de> Deserialize<'de> for Whole {
    fn deserialize<D: Deserializer<'de>>(from: D) -> Result<Self, D::Error> {
        from.deserialize_any(Any)
    }
}

struct Any;

impl<'de> Visitor<'de> for Any {
    type Value = Whole;

    fn expecting(&self, f: &mut std::fmt::Formatter) -> std::fmt::Result {
        f.write_str("anything")
    }
    fn visit_u64<E>(self, v: u64) -> Result<Whole, E> {
        Ok(Whole(Some(v)))
    }
    fn visit_i64<E>(self, _: i64) -> Result<Whole, E> {
        Ok(Whole(None))
    }
    fn visit_f64<E>(self, _: f64) -> Result<Whole, E> {
        Ok(Whole(None))
    }
    fn visit_bool<E>(self, _: bool) -> Result<Whole, E> {
        Ok(Whole(None))
    }
    fn visit_str<E>(self, _: &str) -> Result<Whole, E> {
        Ok(Whole(None))
    }
    fn visit_unit<E>(self) -> Result<Whole, E> {
        Ok(Whole(None))
    }
    fn visit_seq<A: SeqAccess<'de>>(self, mut items: A) -> Result<Whole, A::Error> {
        while items.next_element::<IgnoredAny>()?.is_some() {}
        Ok(Whole(None))
    }
    fn visit_map<A: MapAccess<'de>>(self, mut items: A) -> Result<Whole, A::Error> {
        while items.next_entry::<IgnoredAny, IgnoredAny>()?.is_some() {}
        Ok(Whole(None))
    }
}
