//! `calibrate --page`: one page on the loopback address, until the dial file is written or Ctrl-C.
//!
//! Nothing but this computer reaches it: it listens on 127.0.0.1 alone, at a free port, behind a random name in its address, and `guard`
//! refuses requests that another page makes a browser send. It asks nothing of any other address.
mod answers;
mod files;
mod guard;
mod opener;
mod serving;
mod session;
use super::args::CalibrateArgs;
use super::failure::{ALL_READ, Failure, NOT_ALL_READ};
use axum::Router;
use axum::middleware::{from_fn, from_fn_with_state};
use axum::routing::{get, post};
use guard::Guard;
use session::Session;
use std::io::Write;
use std::sync::Arc;
use tokio::net::TcpListener;

/// Serves the page; the answer is the exit status.
pub fn run(args: &CalibrateArgs, out: &mut dyn Write) -> Result<u8, Failure> {
    let session = Arc::new(Session::new(args)?);
    let trouble =
        |e: std::io::Error| Failure::trouble(format!("The page could not be served ({e}). Use calibrate --tick or --mark instead."));
    let runtime = tokio::runtime::Builder::new_current_thread().enable_all().build().map_err(trouble)?;
    let done = runtime.block_on(async {
        let listener = TcpListener::bind(("127.0.0.1", 0)).await.map_err(trouble)?;
        let guard = Guard::new(listener.local_addr().map_err(trouble)?.port())?;
        let link = guard.link();
        writeln!(out, "Calibrate on this page, which only this computer can open:\n  {link}")?;
        writeln!(out, "It ends when the dial file is written. Ctrl-C ends it without.")?;
        out.flush()?;
        // kept until the page ends
        let _opened = if args.open { opener::open(&link, &args.out) } else { None };
        // while the browser comes up
        let looks = session.clone();
        tokio::task::spawn_blocking(move || looks.dials().len());
        let app = router(session.clone(), guard);
        let end = async {
            tokio::select! {
                () = session.written() => {}
                _ = tokio::signal::ctrl_c() => {}
            }
        };
        serving::serve(listener, app, end).await;
        match session.said() {
            Some(text) => {
                write!(out, "\n{text}")?;
                Ok(ALL_READ)
            }
            None => Err(Failure { message: Some("The page was ended before a dial file was written.".to_string()), status: NOT_ALL_READ }),
        }
    });
    // a calibration that is still being worked out is not waited for
    runtime.shutdown_background();
    done
}

fn router(session: Arc<Session>, guard: Guard) -> Router {
    let pages = Router::new()
        .route("/", get(files::page))
        .route("/{name}", get(files::part))
        .route("/photo", get(answers::photo))
        .route("/begin", get(answers::begin))
        .route("/found", get(answers::found))
        .route("/fit", post(answers::fit))
        .route("/save", post(answers::save));
    Router::new()
        .nest(&format!("/{}", guard.token()), pages.clone())
        .route(&format!("/{}/", guard.token()), get(files::page))
        .layer(from_fn(serving::whole_body))
        .layer(from_fn_with_state(Arc::new(guard), guard::watch))
        .with_state(session)
}
