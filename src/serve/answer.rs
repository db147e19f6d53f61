//! What the server answers: bytes with the headers that keep a page to itself.

use http_body_util::Full;
use hyper::body::Bytes;
use hyper::header::{HeaderName, HeaderValue};
use hyper::{Response, StatusCode};
use serde::Serialize;
use serde_json::{Value as Json, json};

pub(super) type Answer = Response<Full<Bytes>>;

/// Only what this server itself gives may run, be shown or be asked for.
const POLICY: &str = "default-src 'none'; script-src 'self'; style-src 'self'; \
                      img-src 'self' data: blob:; connect-src 'self'; base-uri 'none'; \
                      form-action 'none'; frame-ancestors 'none'";

const HEADERS: &[(&str, &str)] = &[
    ("content-security-policy", POLICY),
    ("x-content-type-options", "nosniff"),
    ("referrer-policy", "no-referrer"),
    ("cross-origin-opener-policy", "same-origin"),
    ("cross-origin-resource-policy", "same-origin"),
    ("cache-control", "no-store"),
];

/// An answer of the given type.
pub(super) fn bytes(status: StatusCode, kind: &'static str, body: impl Into<Bytes>) -> Answer {
    let mut answer = Response::new(Full::new(body.into()));
    *answer.status_mut() = status;
    let headers = answer.headers_mut();
    headers.insert(hyper::header::CONTENT_TYPE, HeaderValue::from_static(kind));
    for (name, value) in HEADERS {
        headers.insert(HeaderName::from_static(name), HeaderValue::from_static(value));
    }
    answer
}

/// A JSON answer.
pub(super) fn json_of(status: StatusCode, value: &Json) -> Answer {
    bytes(status, JSON, value.to_string())
}

pub(super) const JSON: &str = "application/json";

/// Why a request is not done as asked. Its code is part of the interface.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub(super) struct Refused {
    #[serde(skip)]
    pub status: StatusCode,
    pub code: &'static str,
    pub text: String,
    pub hints: Vec<String>,
    /// The methods that the path has, where it has not the one asked for (RFC 9110, 15.5.6).
    #[serde(skip)]
    allow: Option<String>,
}

impl Refused {
    fn new(status: StatusCode, code: &'static str, text: impl Into<String>) -> Refused {
        Refused { status, code, text: text.into(), hints: Vec::new(), allow: None }
    }

    pub fn hint(mut self, hint: impl Into<String>) -> Refused {
        self.hints.push(hint.into());
        self
    }

    pub fn allow(mut self, methods: impl Into<String>) -> Refused {
        self.allow = Some(methods.into());
        self
    }

    pub fn answer(&self) -> Answer {
        let mut answer = json_of(self.status, &json!({ "error": self }));
        if let Some(methods) = self.allow.as_ref().and_then(|m| HeaderValue::from_str(m).ok()) {
            answer.headers_mut().insert(hyper::header::ALLOW, methods);
        }
        answer
    }
}

/// Every way in which a request is refused: its code, its status, and what it means.
pub(super) const REFUSALS: &[(&str, StatusCode, &str)] = &[
    ("bad_request", StatusCode::BAD_REQUEST, "the body or a header is not as described"),
    ("foreign", StatusCode::FORBIDDEN, "not from this machine's own page"),
    ("not_found", StatusCode::NOT_FOUND, "no such path, file or version"),
    ("wrong_method", StatusCode::METHOD_NOT_ALLOWED, "the path has another method"),
    ("too_slow", StatusCode::REQUEST_TIMEOUT, "the body did not come in time"),
    ("changed_meanwhile", StatusCode::CONFLICT, "the file is not as it was opened"),
    ("overtaken", StatusCode::CONFLICT, "a later edit of the same page made this one needless"),
    ("too_large", StatusCode::PAYLOAD_TOO_LARGE, "the body is longer than it may be"),
    ("wrong_type", StatusCode::UNSUPPORTED_MEDIA_TYPE, "the body's content type is another"),
    ("cannot_be_made", StatusCode::UNPROCESSABLE_ENTITY, "the job cannot be made so"),
    ("took_too_long", StatusCode::UNPROCESSABLE_ENTITY, "the build was ended at its limit of time"),
    (
        "ended",
        StatusCode::UNPROCESSABLE_ENTITY,
        "the build's process ended, mostly for want of memory",
    ),
    ("internal", StatusCode::INTERNAL_SERVER_ERROR, "a fault of the program"),
    ("disk", StatusCode::INTERNAL_SERVER_ERROR, "the folder cannot be read or written"),
    ("busy", StatusCode::SERVICE_UNAVAILABLE, "more builds wait than are kept"),
];

/// A refusal by its code.
///
/// # Panics
/// If the code is not in [`REFUSALS`], which the tests rule out.
pub(super) fn refused(code: &'static str, text: impl Into<String>) -> Refused {
    let row = REFUSALS.iter().find(|(known, ..)| *known == code);
    let (code, status, _) = row.expect("the code is in the table");
    Refused::new(*status, code, text)
}
