//! `view --open`: the readings on the loopback address, where a photo is left out by a click and a reason.
use super::super::args::reason;
use super::super::failure::Failure;
use super::super::readings::Readings;
use super::guard::{self, Guard};
use super::{opener, serving};
use crate::output::{Served, json, sheet_style};
use axum::extract::State;
use axum::http::{StatusCode, header};
use axum::middleware::{from_fn, from_fn_with_state};
use axum::response::{IntoResponse, Response};
use axum::routing::{get, post};
use axum::{Json, Router};
use serde::Deserialize;
use std::io::Write;
use std::net::Ipv4Addr;
use std::path::Path;
use std::sync::{Arc, Mutex};
use tokio::net::TcpListener;

const SCRIPT: &str = include_str!("assets/view.js");
type Shared = Arc<Mutex<Readings>>;

/// Serves the readings until Ctrl-C.
pub fn view(readings: Readings, out: &mut dyn Write) -> Result<(), Failure> {
    let trouble = |e: std::io::Error| Failure::trouble(format!("The page could not be served ({e}). Use view --out instead."));
    let runtime = tokio::runtime::Builder::new_current_thread().enable_all().build().map_err(trouble)?;
    let done = runtime.block_on(async {
        let listener = TcpListener::bind((Ipv4Addr::LOCALHOST, 0)).await.map_err(trouble)?;
        let guard = Guard::new(listener.local_addr().map_err(trouble)?, false)?;
        let link = guard.link();
        writeln!(out, "The readings, on a page which only this computer can open:\n  {link}\nCtrl-C ends it.")?;
        out.flush()?;
        // kept until the page ends
        let _opened = opener::open(&link, Path::new("readings.html"));
        let app = router(Arc::new(Mutex::new(readings)), guard);
        let end = async { tokio::signal::ctrl_c().await.unwrap_or(()) };
        serving::serve(listener, app, end).await;
        Ok(())
    });
    runtime.shutdown_background();
    done
}

fn router(readings: Shared, guard: Guard) -> Router {
    let token = guard.token().to_string();
    let parts = Router::new().route("/view.js", get(script)).route("/view.css", get(style)).route("/mark", post(mark));
    Router::new()
        .nest(&format!("/{token}"), parts)
        .route(&format!("/{token}/"), get(page))
        .layer(from_fn(serving::whole_body))
        .layer(from_fn_with_state(Arc::new(guard), guard::watch))
        .with_state(readings)
}

async fn script() -> Response {
    ([(header::CONTENT_TYPE, "text/javascript; charset=utf-8")], SCRIPT).into_response()
}

async fn style() -> Response {
    ([(header::CONTENT_TYPE, "text/css; charset=utf-8")], sheet_style()).into_response()
}

async fn page(State(readings): State<Shared>) -> Response {
    match readings.lock() {
        Ok(all) => ([(header::CONTENT_TYPE, "text/html; charset=utf-8")], all.page(Some(Served { script: "view.js", style: "view.css" })))
            .into_response(),
        Err(_) => (StatusCode::INTERNAL_SERVER_ERROR, "The page broke. Start it again.\n").into_response(),
    }
}

/// What is asked of a photo: its place in the list, and why it is left out; an empty reason counts it again.
#[derive(Debug, Deserialize)]
struct Mark {
    photo: usize,
    reason: String,
}

async fn mark(State(readings): State<Shared>, Json(asked): Json<Mark>) -> Response {
    let done = (|| {
        let reason = if asked.reason.is_empty() { String::new() } else { reason(&asked.reason)? };
        let mut all = readings.lock().map_err(|_| "The page broke. Start it again.".to_string())?;
        all.mark(asked.photo, &reason).map_err(|f| f.message.unwrap_or_default())
    })();
    match json::page_saved(done.as_ref().map(|()| "").map_err(String::as_str)) {
        Ok(text) => ([(header::CONTENT_TYPE, "application/json")], text).into_response(),
        Err(e) => (StatusCode::INTERNAL_SERVER_ERROR, format!("{e}\n")).into_response(),
    }
}
