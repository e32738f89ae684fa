//! What the page asks, and what it is told.
use super::super::calibrate::Wanted;
use super::super::files::named;
use super::session::Session;
use crate::calibrate::FoundDial;
use crate::maths::units::Unit;
use crate::output::{json, sentence_case};
use axum::Json;
use axum::extract::State;
use axum::http::{StatusCode, header};
use axum::response::{IntoResponse, Response};
use serde::Deserialize;
use std::sync::Arc;

/// Marks as the page has them; places in px from the picture's corner.
#[derive(Debug, Deserialize)]
pub struct Asked {
    unit: String,
    name: String,
    marks: Vec<AskedMark>,
    pivot: Option<[f64; 2]>,
    /// The gauge is right to within this, degrees of needle.
    accuracy: Option<f64>,
    /// What is asked of the entries has been answered: they are as the dial has them.
    #[serde(default)]
    anyway: bool,
}

#[derive(Debug, Deserialize)]
struct AskedMark {
    value: f64,
    x: f64,
    y: f64,
}

impl Asked {
    fn wanted(self) -> Result<Wanted, String> {
        if self.unit.trim().is_empty() {
            return Err("Say first which unit is printed on the dial.".to_string());
        }
        let unit = Unit::named(&self.unit).map_err(|e| format!("{}.", sentence_case(&e.to_string())))?;
        let name = self.name.trim().to_string();
        if name.is_empty() {
            return Err("Give the dial a name.".to_string());
        }
        let marks = self.marks.into_iter().map(|m| (m.value, [m.x, m.y])).collect();
        Ok(Wanted { unit, name, marks, angles: Vec::new(), pivot: self.pivot, rim: None })
    }
}

fn as_json(text: Result<String, json::JsonError>) -> Response {
    match text {
        Ok(text) => ([(header::CONTENT_TYPE, "application/json")], text).into_response(),
        Err(e) => (StatusCode::INTERNAL_SERVER_ERROR, format!("{e}\n")).into_response(),
    }
}

/// The photo, upright.
pub async fn photo(State(session): State<Arc<Session>>) -> Response {
    ([(header::CONTENT_TYPE, "image/jpeg")], session.jpeg.clone()).into_response()
}

/// What is known before the person does anything and before a dial is found.
pub async fn begin(State(session): State<Arc<Session>>) -> Response {
    as_json(started(&session, &[]))
}

/// The same with the dials, once they are found.
pub async fn found(State(session): State<Arc<Session>>) -> Response {
    match tokio::task::spawn_blocking(move || started(&session, session.dials())).await {
        Ok(text) => as_json(text),
        Err(_) => (StatusCode::INTERNAL_SERVER_ERROR, "The search for dials broke off.\n").into_response(),
    }
}

fn started(session: &Session, dials: &[FoundDial]) -> Result<String, json::JsonError> {
    let args = &session.args;
    let photo = args.photo.file_name().unwrap_or_default().to_string_lossy().to_string();
    json::page_start(&json::PageStart {
        photo: &photo,
        size: [session.photo.width, session.photo.height],
        unit: args.unit,
        name: &session.name(),
        out: &named(&args.out),
        dials,
    })
}

/// Calibrates with the marks so far.
pub async fn fit(State(session): State<Arc<Session>>, Json(asked): Json<Asked>) -> Response {
    let worked = tokio::task::spawn_blocking(move || {
        let accuracy = asked.accuracy;
        let done = asked.wanted().and_then(|w| session.fit(&w, accuracy));
        json::page_fit(&session.photo, done.as_ref().map_err(String::as_str))
    });
    match worked.await {
        Ok(text) => as_json(text),
        Err(_) => (StatusCode::INTERNAL_SERVER_ERROR, "The calibration broke off.\n").into_response(),
    }
}

/// Writes the dial file.
pub async fn save(State(session): State<Arc<Session>>, Json(asked): Json<Asked>) -> Response {
    let own = session.clone();
    let (accuracy, anyway) = (asked.accuracy, asked.anyway);
    let worked = tokio::task::spawn_blocking(move || asked.wanted().and_then(|w| own.save(&w, accuracy, anyway)));
    let Ok(done) = worked.await else {
        return (StatusCode::INTERNAL_SERVER_ERROR, "The calibration broke off.\n").into_response();
    };
    let written = done.is_ok();
    let answer = as_json(json::page_saved(done.as_deref().map_err(String::as_str)));
    if written {
        session.end();
    }
    answer
}
