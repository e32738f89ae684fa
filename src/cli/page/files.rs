//! The page itself and its parts, as they are built into the program.
use axum::extract::Path;
use axum::http::{StatusCode, header};
use axum::response::{IntoResponse, Response};

const PAGE: &str = include_str!("assets/page.html");
const PARTS: [(&str, &str, &str); 6] = [
    ("page.css", "text/css; charset=utf-8", include_str!("assets/page.css")),
    ("main.js", "text/javascript; charset=utf-8", include_str!("assets/main.js")),
    ("model.js", "text/javascript; charset=utf-8", include_str!("assets/model.js")),
    ("stage.js", "text/javascript; charset=utf-8", include_str!("assets/stage.js")),
    ("box.js", "text/javascript; charset=utf-8", include_str!("assets/box.js")),
    ("panel.js", "text/javascript; charset=utf-8", include_str!("assets/panel.js")),
];

/// The page.
pub async fn page() -> Response {
    ([(header::CONTENT_TYPE, "text/html; charset=utf-8")], PAGE).into_response()
}

/// A part of it by its name.
pub async fn part(Path(name): Path<String>) -> Response {
    match PARTS.iter().find(|p| p.0 == name) {
        Some((_, kind, text)) => ([(header::CONTENT_TYPE, *kind)], *text).into_response(),
        None => (StatusCode::NOT_FOUND, "There is no such part of the page.\n").into_response(),
    }
}
