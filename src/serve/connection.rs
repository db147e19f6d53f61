//! Connections: only from this machine's own page, and only as long and as
//! large as they may be.

use std::convert::Infallible;
use std::io;
use std::sync::Arc;
use std::time::Duration;

use hyper::Request;
use hyper::body::Incoming;
use hyper::header::{HOST, HeaderMap, HeaderName, ORIGIN};
use hyper::server::conn::http1;
use hyper::service::service_fn;
use hyper_util::rt::{TokioIo, TokioTimer};
use tokio::io::{AsyncRead, AsyncWrite};
use tokio::net::TcpListener;
use tokio::sync::Semaphore;

use super::Server;
use super::answer::{Answer, Refused, refused};
use super::routes;

/// Most connections at once; a browser opens six for a tab. Common practice, no source.
const MOST_CONNECTIONS: usize = 512;

/// Longest time for a request's head to come in. Common practice, no source.
const HEAD_TIME: Duration = Duration::from_secs(10);

/// Longest head, bytes. Common practice, no source.
const MOST_HEAD: usize = 32 << 10;

/// Wait after the system has refused a connection, for want of descriptors.
const BREATH: Duration = Duration::from_millis(50);

/// Takes connections until the process is ended.
pub(super) async fn accept(listener: TcpListener, server: Arc<Server>) -> io::Result<()> {
    let room = Arc::new(Semaphore::new(MOST_CONNECTIONS));
    loop {
        let Ok(permit) = room.clone().acquire_owned().await else { return Ok(()) };
        let Ok((stream, _)) = listener.accept().await else {
            tokio::time::sleep(BREATH).await;
            continue;
        };
        // Small answers go out at once.
        let _ = stream.set_nodelay(true);
        let server = server.clone();
        tokio::spawn(async move {
            // A browser that ends its side has gone away.
            talk(stream, server, false).await;
            drop(permit);
        });
    }
}

/// Answers what comes over a connection until it ends. `waits` is whether the other side may end
/// what it sends and still wait for its answers.
pub(super) async fn talk<S>(stream: S, server: Arc<Server>, waits: bool)
where
    S: AsyncRead + AsyncWrite + Unpin,
{
    let service = service_fn(move |request| answer(server.clone(), request));
    let connection = http1::Builder::new()
        .timer(TokioTimer::new())
        .header_read_timeout(HEAD_TIME)
        .max_buf_size(MOST_HEAD)
        .half_close(waits)
        .serve_connection(TokioIo::new(stream), service);
    // A connection that breaks is the other side's affair.
    let _ = connection.await;
}

async fn answer(server: Arc<Server>, request: Request<Incoming>) -> Result<Answer, Infallible> {
    let answer = match own(&server, &request) {
        Ok(path) => routes::answer(&server, &path, request).await,
        Err(refused) => Err(refused),
    };
    Ok(answer.unwrap_or_else(|refused| refused.answer()))
}

/// The path within the page, of a request that its own page has made.
///
/// `Host` and `Origin` stop pages of other sites whose name was made to point
/// here; the token stops whoever has not been told the address.
fn own(server: &Server, request: &Request<Incoming>) -> Result<String, Refused> {
    let foreign = |what: &str| refused("foreign", what).hint("open the address that was printed");
    let headers = request.headers();
    let hosts = [format!("127.0.0.1:{}", server.port), format!("localhost:{}", server.port)];
    let host = one(headers, &HOST).ok_or_else(|| foreign("the request has not one host"))?;
    if !hosts.iter().any(|known| known == host) {
        return Err(foreign("the request is for another host"));
    }
    if headers.contains_key(ORIGIN) {
        let origin = one(headers, &ORIGIN).and_then(|origin| origin.strip_prefix("http://"));
        if origin != Some(host) {
            return Err(foreign("the request is from another page"));
        }
    }
    let site = HeaderName::from_static("sec-fetch-site");
    if headers.get(&site).is_some_and(|site| site != "same-origin" && site != "none") {
        return Err(foreign("the request is from another page"));
    }
    let path = request.uri().path();
    let (token, rest) = path.strip_prefix('/').and_then(|p| p.split_once('/')).unwrap_or_default();
    if !same(token.as_bytes(), server.token.as_bytes()) {
        return Err(foreign("the address does not have this run's token"));
    }
    Ok(rest.to_owned())
}

/// The value of a header that is there once.
fn one<'a>(headers: &'a HeaderMap, name: &HeaderName) -> Option<&'a str> {
    let mut all = headers.get_all(name).iter();
    let value = all.next()?;
    all.next().is_none().then(|| value.to_str().ok())?
}

/// Compares in a time that does not tell where they differ.
fn same(a: &[u8], b: &[u8]) -> bool {
    a.len() == b.len() && a.iter().zip(b).fold(0, |differ, (a, b)| differ | (a ^ b)) == 0
}
