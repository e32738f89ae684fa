//! `calibrate --page`: one page on the loopback address, until the dial file is written or Ctrl-C.
//!
//! Nothing but this computer reaches it, unless `--lan` asks for a phone in the same network: it listens on 127.0.0.1 alone, at a free port, behind a random name in its address, and `guard`
//! refuses requests that another page makes a browser send. It asks nothing of any other address.
mod answers;
mod files;
mod guard;
mod lan;
mod opener;
mod serving;
mod session;
mod view;
use super::args::CalibrateArgs;
use super::failure::{ALL_READ, Failure, NOT_ALL_READ};
use axum::Router;
use axum::extract::DefaultBodyLimit;
use axum::middleware::{from_fn, from_fn_with_state};
use axum::routing::{get, post};
use guard::Guard;
use session::Session;
use std::io::{IsTerminal, Write, stdout};
use std::net::{IpAddr, Ipv4Addr};
use std::sync::Arc;
use std::time::Duration;
use tokio::net::TcpListener;

pub use view::view;

/// How long a page in a network lasts.
const IN_NETWORK: Duration = Duration::from_secs(3600);

/// Serves the page; the answer is the exit status.
pub fn run(args: &CalibrateArgs, out: &mut dyn Write) -> Result<u8, Failure> {
    let address = args.lan.as_deref().map(lan::address).transpose()?;
    let session = Arc::new(Session::new(args)?);
    let trouble =
        |e: std::io::Error| Failure::trouble(format!("The page could not be served ({e}). Use calibrate --tick or --mark instead."));
    let runtime = tokio::runtime::Builder::new_current_thread().enable_all().build().map_err(trouble)?;
    let done = runtime.block_on(async {
        let listener = TcpListener::bind((address.unwrap_or(IpAddr::V4(Ipv4Addr::LOCALHOST)), 0)).await.map_err(trouble)?;
        let guard = Guard::new(listener.local_addr().map_err(trouble)?, address.is_some())?;
        let link = guard.link();
        greet(&link, address.is_some(), out)?;
        // kept until the page ends
        let _opened = if args.open { opener::open(&link, &args.out) } else { None };
        // while the browser comes up
        let looks = session.clone();
        tokio::task::spawn_blocking(move || looks.dials().map_or(0, <[_]>::len));
        let app = router(session.clone(), guard);
        let end = async {
            tokio::select! {
                () = session.written() => {}
                _ = tokio::signal::ctrl_c() => {}
                () = tokio::time::sleep(IN_NETWORK), if address.is_some() => {}
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

/// The link, and what to mind.
fn greet(link: &str, lan: bool, out: &mut dyn Write) -> Result<(), Failure> {
    if lan {
        writeln!(out, "{}\n", lan::WARNING)?;
        let code = stdout().is_terminal().then(|| lan::code(link)).flatten();
        let how = if code.is_some() { " (or scan the code)" } else { "" };
        writeln!(out, "{}On the phone, in the same network, open this link{how}:\n  {link}", code.map_or(String::new(), |c| c + "\n"))?;
    } else {
        writeln!(out, "Calibrate on this page, which only this computer can open:\n  {link}")?;
        writeln!(out, "It ends when the dial file is written. Ctrl-C ends it without.")?;
    }
    Ok(out.flush()?)
}

fn router(session: Arc<Session>, guard: Guard) -> Router {
    let pages = Router::new()
        .route("/", get(files::page))
        .route("/{name}", get(files::part))
        .route("/photo", get(answers::photo))
        // a photo; `serving::whole_body` says how long it may be
        .route("/send", post(answers::send).layer(DefaultBodyLimit::disable()))
        .route("/begin", get(answers::begin))
        .route("/found", get(answers::found))
        .route("/within", post(answers::within))
        .route("/fit", post(answers::fit))
        .route("/check", post(answers::check))
        .route("/save", post(answers::save));
    Router::new()
        .nest(&format!("/{}", guard.token()), pages.clone())
        .route(&format!("/{}/", guard.token()), get(files::page))
        .layer(from_fn(serving::whole_body))
        .layer(from_fn_with_state(Arc::new(guard), guard::watch))
        .with_state(session)
}
