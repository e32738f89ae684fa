//! What the page asks, and what it is told.
use super::super::calibrated::Wanted;
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
    /// The step from tick to tick, where it was asked and told.
    tick_step: Option<f64>,
    /// The gauge is right to within this, degrees of needle.
    accuracy: Option<f64>,
    /// What the person sees the needle read in this photo, dial unit.
    seen: Option<f64>,
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
        Ok(Wanted { unit, name, marks, angles: Vec::new(), pivot: self.pivot, rim: None, tick_step: self.tick_step })
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
    match session.shot() {
        Some(shot) => ([(header::CONTENT_TYPE, "image/jpeg")], shot.jpeg.clone()).into_response(),
        None => (StatusCode::NOT_FOUND, "No photo was sent yet.\n").into_response(),
    }
}

/// The name that the phone has for the photo it sends.
const SENT_NAME: header::HeaderName = header::HeaderName::from_static("x-photo-name");

/// Takes the photo, as the phone has it.
pub async fn send(State(session): State<Arc<Session>>, headers: header::HeaderMap, bytes: axum::body::Bytes) -> Response {
    let name = headers.get(SENT_NAME).and_then(|n| n.to_str().ok()).unwrap_or_default().to_string();
    match tokio::task::spawn_blocking(move || session.take(&bytes, &name)).await {
        Ok(done) => as_json(json::page_saved(done.as_ref().map(|()| "").map_err(String::as_str))),
        Err(_) => (StatusCode::INTERNAL_SERVER_ERROR, "The photo could not be taken.\n").into_response(),
    }
}

/// What is known before the person does anything and before a dial is found.
pub async fn begin(State(session): State<Arc<Session>>) -> Response {
    as_json(started(&session, &[]))
}

/// The same with the dials, once they are found.
pub async fn found(State(session): State<Arc<Session>>) -> Response {
    match tokio::task::spawn_blocking(move || started(&session, session.dials().unwrap_or_default())).await {
        Ok(text) => as_json(text),
        Err(_) => (StatusCode::INTERNAL_SERVER_ERROR, "The search for dials broke off.\n").into_response(),
    }
}

fn started(session: &Session, dials: &[FoundDial]) -> Result<String, json::JsonError> {
    let args = &session.args;
    let shot = session.shot();
    json::page_start(&json::PageStart {
        photo: shot.map(|s| s.name.as_str()),
        size: shot.map_or([0, 0], |s| [s.photo.width, s.photo.height]),
        unit: args.unit,
        name: &session.name(),
        out: &named(&args.out),
        dials,
    })
}

/// A circle drawn round a dial: middle and radius, px from the picture's corner.
#[derive(Debug, Deserialize)]
pub struct Drawn {
    x: f64,
    y: f64,
    radius: f64,
}

/// The dials inside a circle.
pub async fn within(State(session): State<Arc<Session>>, Json(Drawn { x, y, radius }): Json<Drawn>) -> Response {
    let circle = [x, y, radius];
    match tokio::task::spawn_blocking(move || started(&session, &session.dials_in(circle))).await {
        Ok(text) => as_json(text),
        Err(_) => (StatusCode::INTERNAL_SERVER_ERROR, "The search for dials broke off.\n").into_response(),
    }
}

/// Calibrates with the marks so far.
pub async fn fit(State(session): State<Arc<Session>>, Json(asked): Json<Asked>) -> Response {
    let worked = tokio::task::spawn_blocking(move || {
        let (accuracy, seen) = (asked.accuracy, asked.seen);
        let done = asked.wanted().and_then(|w| session.fit(&w, accuracy));
        let disagrees = done.as_ref().ok().and_then(|d| session.disagrees(d, seen?));
        json::page_fit(session.shot().map(|s| &s.photo), done.as_ref().map_err(String::as_str), disagrees.as_deref())
    });
    match worked.await {
        Ok(text) => as_json(text),
        Err(_) => (StatusCode::INTERNAL_SERVER_ERROR, "The calibration broke off.\n").into_response(),
    }
}

/// The check picture of the marks so far.
pub async fn check(State(session): State<Arc<Session>>, Json(asked): Json<Asked>) -> Response {
    match tokio::task::spawn_blocking(move || asked.wanted().and_then(|w| session.check(&w))).await {
        Ok(Ok(jpeg)) => ([(header::CONTENT_TYPE, "image/jpeg")], jpeg).into_response(),
        Ok(Err(text)) => (StatusCode::UNPROCESSABLE_ENTITY, text).into_response(),
        Err(_) => (StatusCode::INTERNAL_SERVER_ERROR, "The check picture could not be drawn.").into_response(),
    }
}

/// Writes the dial file.
pub async fn save(State(session): State<Arc<Session>>, Json(asked): Json<Asked>) -> Response {
    let own = session.clone();
    let (accuracy, seen, anyway) = (asked.accuracy, asked.seen, asked.anyway);
    let worked = tokio::task::spawn_blocking(move || asked.wanted().and_then(|w| own.save(&w, accuracy, seen, anyway)));
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
