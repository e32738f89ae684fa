//! Who may ask: only a page that this program served, in a browser on this computer; with `--lan`, on the first device that opens it.
//!
//! A browser can be made to send requests here by any page it shows. Such a request carries that page's Origin, or, where a foreign name
//! was made to point at 127.0.0.1, that name as its Host; neither knows the token in the address.
use super::super::failure::Failure;
use axum::extract::{Request, State};
use axum::http::header::{self, HeaderMap, HeaderValue};
use axum::http::{Method, StatusCode};
use axum::middleware::Next;
use axum::response::{IntoResponse, Response};
use std::net::{IpAddr, SocketAddr};
use std::sync::{Arc, OnceLock};

/// Bytes of chance in the token: 128 bits.
const TOKEN_BYTES: usize = 16;
/// What the page may load: nothing from anywhere but here.
const POLICY: &str = "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data:; connect-src 'self'; base-uri 'none'; \
                      form-action 'none'; frame-ancestors 'none'";

/// What a browser says of where a request is from and what it is for (W3C Fetch Metadata Request Headers).
const SITE: header::HeaderName = header::HeaderName::from_static("sec-fetch-site");
const MODE: header::HeaderName = header::HeaderName::from_static("sec-fetch-mode");
const DEST: header::HeaderName = header::HeaderName::from_static("sec-fetch-dest");

/// The other end of a connection.
#[derive(Clone, Copy, Debug)]
pub struct Peer(pub IpAddr);

/// The address of the page.
pub struct Guard {
    token: String,
    hosts: Vec<String>,
    /// In a network: the device that came first; it alone is answered.
    first: Option<OnceLock<IpAddr>>,
}

impl Guard {
    /// For an address, with a new token. `lan`: for a device in the network, and not for this computer alone.
    pub fn new(address: SocketAddr, lan: bool) -> Result<Self, Failure> {
        let mut bytes = [0u8; TOKEN_BYTES];
        getrandom::fill(&mut bytes).map_err(|e| {
            Failure::trouble(format!("The system gave no random numbers ({e}), so the page's address could be guessed; it is not served."))
        })?;
        Ok(Self::with(address, lan, bytes.iter().map(|b| format!("{b:02x}")).collect()))
    }
    fn with(address: SocketAddr, lan: bool, token: String) -> Self {
        let mut hosts = vec![address.to_string()];
        if !lan {
            hosts.push(format!("localhost:{}", address.port()));
        }
        Self { token, hosts, first: lan.then(OnceLock::new) }
    }
    /// The token.
    pub fn token(&self) -> &str {
        &self.token
    }
    /// The link to the page.
    pub fn link(&self) -> String {
        format!("http://{}/{}/", self.hosts.first().map_or("", String::as_str), self.token)
    }
    /// Whether a request comes from the device that came first, which the first good one decides.
    fn is_first(&self, peer: Option<IpAddr>) -> bool {
        self.first.as_ref().is_none_or(|first| peer.is_some_and(|p| *first.get_or_init(|| p) == p))
    }
    /// Whether a browser goes to the page itself, by a link that holds the token: from the file that `--open` hands it, say.
    fn is_visit(&self, method: &Method, path: &str, headers: &HeaderMap) -> bool {
        let is = |name, value| headers.get(name).is_some_and(|v: &HeaderValue| v == value);
        let page = path.strip_prefix('/').and_then(|p| p.strip_suffix('/')) == Some(self.token.as_str());
        *method == Method::GET && page && is(MODE, "navigate") && is(DEST, "document")
    }
    /// Why a request is refused; `None` when it is not.
    fn refusal(&self, (method, path): (&Method, &str), headers: &HeaderMap, peer: Option<IpAddr>) -> Option<(StatusCode, &'static str)> {
        let text = |name| headers.get(name).map(|v: &HeaderValue| v.to_str().unwrap_or("?"));
        if !text(header::HOST).is_some_and(|h| self.hosts.iter().any(|own| own == h)) {
            return Some((StatusCode::FORBIDDEN, "This address is not served here.\n"));
        }
        let own = |origin: &str| self.hosts.iter().any(|h| origin.strip_prefix("http://") == Some(h));
        let foreign = match text(header::ORIGIN) {
            Some(origin) => !own(origin),
            // a browser names the origin of everything that changes something
            None => *method != Method::GET && *method != Method::HEAD,
        };
        let from = |site: &str| site == "same-origin" || site == "none" || self.is_visit(method, path, headers);
        if foreign || text(SITE).is_some_and(|site| !from(site)) {
            return Some((StatusCode::FORBIDDEN, "Another page may not ask here.\n"));
        }
        let known = path.strip_prefix('/').and_then(|p| p.strip_prefix(self.token.as_str())).is_some_and(|rest| rest.starts_with('/'));
        if !known {
            return Some((StatusCode::NOT_FOUND, "There is nothing here. Use the link as it was printed.\n"));
        }
        (!self.is_first(peer))
            .then_some((StatusCode::FORBIDDEN, "Another device has this page. End it in the terminal and start it again.\n"))
    }
}

/// Lets a request through or refuses it; every answer forbids keeping, framing and foreign parts.
pub async fn watch(State(guard): State<Arc<Guard>>, request: Request, next: Next) -> Response {
    let peer = request.extensions().get::<Peer>().map(|p| p.0);
    let mut answer = match guard.refusal((request.method(), request.uri().path()), request.headers(), peer) {
        Some(refusal) => refusal.into_response(),
        None => next.run(request).await,
    };
    let set = [
        (header::CONTENT_SECURITY_POLICY, POLICY),
        (header::X_CONTENT_TYPE_OPTIONS, "nosniff"),
        (header::REFERRER_POLICY, "no-referrer"),
        (header::CACHE_CONTROL, "no-store"),
        (header::HeaderName::from_static("cross-origin-resource-policy"), "same-origin"),
    ];
    for (name, value) in set {
        answer.headers_mut().insert(name, HeaderValue::from_static(value));
    }
    answer
}

#[cfg(test)]
mod tests {
    use super::*;

    fn asked(method: Method, path: &str, given: &[(&'static str, &str)]) -> Option<u16> {
        let guard = Guard::with(([127, 0, 0, 1], 4711).into(), false, "secret".into());
        let mut headers = HeaderMap::new();
        for (name, value) in given {
            headers.insert(*name, HeaderValue::from_str(value).unwrap());
        }
        guard.refusal((&method, path), &headers, None).map(|r| r.0.as_u16())
    }

    #[test]
    fn only_the_own_page_may_ask() {
        let host = ("host", "127.0.0.1:4711");
        assert_eq!(asked(Method::GET, "/secret/", &[host]), None);
        assert_eq!(asked(Method::GET, "/secret/photo", &[("host", "localhost:4711")]), None);
        assert_eq!(asked(Method::POST, "/secret/fit", &[host, ("origin", "http://127.0.0.1:4711")]), None);
        for path in ["/", "/secre/", "/secrets/", "/secret", "/other/secret/", "//secret/"] {
            assert_eq!(asked(Method::GET, path, &[host]), Some(404), "{path}");
        }
        for host in ["evil.example:4711", "127.0.0.1", "127.0.0.1:4712", "evil.127.0.0.1:4711", "127.0.0.1:4711.evil.example"] {
            assert_eq!(asked(Method::GET, "/secret/", &[("host", host)]), Some(403), "{host}");
        }
        assert_eq!(asked(Method::GET, "/secret/", &[]), Some(403));
        for origin in
            ["http://evil.example", "null", "https://127.0.0.1:4711", "http://127.0.0.1:4712", "http://127.0.0.1:4711.evil.example"]
        {
            assert_eq!(asked(Method::POST, "/secret/save", &[host, ("origin", origin)]), Some(403), "{origin}");
        }
        assert_eq!(asked(Method::POST, "/secret/save", &[host]), Some(403));
        // another port of this computer is the same site, and another page
        for site in ["cross-site", "same-site"] {
            assert_eq!(asked(Method::GET, "/secret/photo", &[host, ("sec-fetch-site", site)]), Some(403));
            let visit = [host, ("sec-fetch-site", site), ("sec-fetch-mode", "navigate"), ("sec-fetch-dest", "document")];
            assert_eq!(asked(Method::GET, "/secret/", &visit), None, "a link that holds the token");
            for (method, path) in [(Method::GET, "/secret/photo"), (Method::POST, "/secret/"), (Method::GET, "/other/")] {
                assert_eq!(asked(method, path, &visit), Some(403), "{path}");
            }
            let framed = [host, ("sec-fetch-site", site), ("sec-fetch-mode", "navigate"), ("sec-fetch-dest", "iframe")];
            assert_eq!(asked(Method::GET, "/secret/", &framed), Some(403));
        }
        for site in ["same-origin", "none"] {
            assert_eq!(asked(Method::GET, "/secret/photo", &[host, ("sec-fetch-site", site)]), None);
        }
    }

    #[test]
    fn in_a_network_the_first_device_that_has_the_link_keeps_the_page() {
        let guard = Guard::with(([192, 168, 1, 5], 4711).into(), true, "secret".into());
        let asked = |path: &str, host: &str, peer: [u8; 4]| {
            let mut headers = HeaderMap::new();
            headers.insert(header::HOST, HeaderValue::from_str(host).unwrap());
            guard.refusal((&Method::GET, path), &headers, Some(peer.into())).map(|r| r.0.as_u16())
        };
        let (host, phone, other) = ("192.168.1.5:4711", [192, 168, 1, 20], [192, 168, 1, 21]);
        // who does not know the link does not take the page from whoever does
        assert_eq!(asked("/guess/", host, other), Some(404));
        assert_eq!(asked("/secret/", host, phone), None);
        assert_eq!(asked("/secret/photo", host, phone), None);
        assert_eq!(asked("/secret/", host, other), Some(403));
        assert_eq!(asked("/secret/", "localhost:4711", phone), Some(403));
    }

    #[test]
    fn tokens_are_long_and_never_the_same() {
        let new = || Guard::new(([127, 0, 0, 1], 1).into(), false).unwrap();
        let (a, b) = (new(), new());
        assert!(a.token().len() == 32 && a.token() != b.token());
        assert_eq!(a.link(), format!("http://127.0.0.1:1/{}/", a.token()));
    }
}
