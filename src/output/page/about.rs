//! The head that every page has.
use maud::{Markup, html};

/// A browser that obeys it fetches nothing and runs nothing, whatever a diary may hold.
const POLICY: &str = "default-src 'none'; img-src data:; style-src 'unsafe-inline'";

/// What every page says of itself; `alone`: a file that no server watches over.
pub fn about(said: &str, alone: bool) -> Markup {
    html! {
        meta charset="utf-8";
        meta name="viewport" content="width=device-width, initial-scale=1";
        @if alone { meta http-equiv="Content-Security-Policy" content=(POLICY); }
        meta name="color-scheme" content="light dark";
        title { (said) }
    }
}
