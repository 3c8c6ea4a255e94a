//! Who may ask. A page of another site can make a browser ask here, and a name of its own can be made to point here
//! (rebinding), so Host, Origin and Sec-Fetch-Site are compared exactly at every request, and all but the page's own files
//! wants the token.

use crate::question::Refusing;
use crate::token::Token;
use hyper::header::{HOST, HeaderMap, HeaderName, HeaderValue, ORIGIN};
use hyper::http::request::Parts;
use std::net::SocketAddr;

/// The header that carries the token.
pub const TOKEN: &str = "x-sumpwright-token";

/// The header that keeps other pages away from this one's window.
pub const OPENER: &str = "cross-origin-opener-policy";

/// What the page may load and do: only what comes from here.
const POLICY: &str = "default-src 'none'; script-src 'self'; style-src 'self'; font-src 'self' data:; \
img-src 'self' data: blob:; media-src blob:; connect-src 'self'; worker-src 'self' blob:; base-uri 'none'; \
form-action 'none'; frame-ancestors 'none'";

/// Refuses a request from elsewhere. `local` is the address that the request came in at, `api` whether it asks for more than
/// the page's own files.
pub fn pass(parts: &Parts, local: SocketAddr, token: &Token, api: bool) -> Result<(), Refusing> {
    let elsewhere =
        |what: &str| Refusing::one(403, what, "", "use the address that `sumpwright open` printed");
    let host = only(&parts.headers, HOST)
        .ok_or_else(|| elsewhere("who is asked does not stand in the question once"))?
        .ok_or_else(|| elsewhere("the question does not say who is asked"))?;
    if !own(host, local) || parts.uri.authority().is_some_and(|named| named.as_str() != host) {
        return Err(elsewhere("the question was meant for another host"));
    }
    let origin =
        only(&parts.headers, ORIGIN).ok_or_else(|| elsewhere("the question comes from several places"))?;
    if origin.is_some_and(|origin| origin.strip_prefix("http://") != Some(host)) {
        return Err(elsewhere("the question comes from a page of another site"));
    }
    let site = only(&parts.headers, HeaderName::from_static("sec-fetch-site"))
        .ok_or_else(|| elsewhere("the question comes from several places"))?;
    // The page itself is also opened by hand: then the browser says `none`.
    if site.is_some_and(|site| site != "same-origin" && (api || site != "none")) {
        return Err(elsewhere("the question comes from a page of another site"));
    }
    let offered = parts.headers.get(TOKEN).map_or(&b""[..], HeaderValue::as_bytes);
    if api && !token.is(offered) {
        return Err(Refusing::one(
            401,
            "the page has no right to ask",
            "",
            "open the address that `sumpwright open` printed, with all that follows its #",
        ));
    }
    Ok(())
}

/// The text of a header that may stand once at most; the outer none when it stands more than once or is no text.
fn only(headers: &HeaderMap, name: HeaderName) -> Option<Option<&str>> {
    let mut all = headers.get_all(name).iter();
    match (all.next(), all.next()) {
        (None, _) => Some(None),
        (Some(one), None) => one.to_str().ok().map(Some),
        _ => None,
    }
}

/// Whether `host` names the address that the request came in at.
fn own(host: &str, local: SocketAddr) -> bool {
    let ip = local.ip().to_canonical();
    let address = SocketAddr::new(ip, local.port()).to_string();
    let name = format!("localhost:{}", local.port());
    let port = format!(":{}", local.port());
    let is = |own: &str| {
        host.eq_ignore_ascii_case(own)
            // A browser leaves out the usual port.
            || (local.port() == 80 && own.strip_suffix(&port).is_some_and(|own| host.eq_ignore_ascii_case(own)))
    };
    is(&address) || (ip.is_loopback() && is(&name))
}

/// Puts the page's rules on every answer.
pub fn rules(headers: &mut HeaderMap) {
    for (name, value) in [
        ("content-security-policy", POLICY),
        ("x-content-type-options", "nosniff"),
        ("referrer-policy", "no-referrer"),
        (OPENER, "same-origin"),
        ("cross-origin-resource-policy", "same-origin"),
    ] {
        headers.insert(HeaderName::from_static(name), HeaderValue::from_static(value));
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn only_the_address_itself_is_its_host() {
        let v4: SocketAddr = "127.0.0.1:8123".parse().unwrap();
        for host in ["127.0.0.1:8123", "localhost:8123", "LOCALHOST:8123"] {
            assert!(own(host, v4), "{host}");
        }
        for host in [
            "127.0.0.1",
            "localhost",
            "evil.example:8123",
            "127.0.0.1:80",
            "localhost.evil.example:8123",
            "",
        ] {
            assert!(!own(host, v4), "{host}");
        }
        assert!(own("[::1]:8123", "[::1]:8123".parse().unwrap()));
        assert!(own("192.168.1.7:80", "192.168.1.7:80".parse().unwrap()));
        assert!(own("192.168.1.7", "192.168.1.7:80".parse().unwrap()));
        assert!(!own("localhost:80", "192.168.1.7:80".parse().unwrap()));
        assert!(own("127.0.0.1:8123", "[::ffff:127.0.0.1]:8123".parse().unwrap()));
    }
}
