//! Connections: taken one by one until the end, none of them waited for longer than is told here.
use super::super::files::MAX_PHOTO_BYTES;
use super::guard::Peer;
use axum::body::{Body, to_bytes};
use axum::extract::Request;
use axum::http::StatusCode;
use axum::middleware::Next;
use axum::response::{IntoResponse, Response};
use axum::{Extension, Router};
use hyper::server::conn::http1::Builder;
use hyper_util::rt::{TokioIo, TokioTimer};
use hyper_util::server::graceful::GracefulShutdown;
use hyper_util::service::TowerToHyperService;
use std::future::Future;
use std::time::Duration;
use tokio::net::TcpListener;
use tokio::signal::ctrl_c;
use tokio::time::{sleep, timeout};

/// Longest request taken, bytes: a dial has some dozens of marks.
const LONGEST: usize = 64 * 1024;
/// How long the head of a request, and then its body, may take. A browser on the same computer needs some milliseconds, a phone in the same
/// network some tenths of a second; a photo that a phone sends has its own time.
const REQUEST: Duration = Duration::from_secs(5);
/// The same for a photo that a phone sends: a phone's largest over a slow network.
const PHOTO: (usize, Duration) = (MAX_PHOTO_BYTES as usize, Duration::from_secs(300));
/// How long the last answers may take to reach the browser after the end.
const LAST_WORD: Duration = Duration::from_secs(3);
/// Before trying again when the system gave no connection (too many open files).
const PAUSE: Duration = Duration::from_millis(100);

/// Serves until `end`, then lets answers under way be finished for a short time; another Ctrl-C cuts that too.
pub async fn serve(listener: TcpListener, app: Router, end: impl Future<Output = ()>) {
    let open = GracefulShutdown::new();
    tokio::pin!(end);
    loop {
        let taken = tokio::select! {
            taken = listener.accept() => taken,
            () = &mut end => break,
        };
        let Ok((stream, peer)) = taken else {
            sleep(PAUSE).await;
            continue;
        };
        let mut builder = Builder::new();
        builder.timer(TokioTimer::new()).header_read_timeout(REQUEST);
        let connection =
            builder.serve_connection(TokioIo::new(stream), TowerToHyperService::new(app.clone().layer(Extension(Peer(peer.ip())))));
        // a connection that breaks is the browser's matter: it asks again
        tokio::spawn(open.watch(connection));
    }
    drop(listener);
    tokio::select! {
        () = open.shutdown() => {}
        () = sleep(LAST_WORD) => {}
        _ = ctrl_c() => {}
    }
}

/// Takes the whole body before the request goes on; one that does not arrive is not waited for.
pub async fn whole_body(request: Request, next: Next) -> Response {
    let (longest, patience) = if request.uri().path().ends_with("/send") { PHOTO } else { (LONGEST, REQUEST) };
    let (head, body) = request.into_parts();
    match timeout(patience, to_bytes(body, longest)).await {
        Ok(Ok(bytes)) => next.run(Request::from_parts(head, Body::from(bytes))).await,
        Ok(Err(_)) => (StatusCode::PAYLOAD_TOO_LARGE, "The request is too long, or broke off.\n").into_response(),
        Err(_) => (StatusCode::REQUEST_TIMEOUT, "The request did not arrive whole.\n").into_response(),
    }
}
