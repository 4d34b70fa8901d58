//! A host with faults to switch on, and a list of what was asked of it.
//!
//! It sends plain files as common hosts do: every answer may be kept for ten minutes, the worker and the page as well.

use anyhow::{Context, Result};
use axum::Router;
use axum::body::{Body, Bytes, to_bytes};
use axum::extract::{Request, State};
use axum::http::{HeaderValue, StatusCode, header};
use axum::middleware::{self, Next};
use axum::response::{Html, IntoResponse as _, Response};
use std::net::TcpListener;
use std::path::Path;
use std::sync::{Arc, Mutex, PoisonError};
use tokio::runtime::Runtime;
use tokio::sync::watch;
use tower_http::services::ServeDir;

/// What is wrong with the host, or with the network before it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Fault {
    /// Nothing.
    None,
    /// `/` leads to `/index.html`.
    LeadsToIndex,
    /// Every address answers with the sign-in page of a network.
    Portal,
    /// Every address leads to the sign-in page of a network.
    PortalElsewhere,
    /// Addresses with this in them answer with a sign-in page that may be kept for a year.
    PortalKeptFor(&'static str),
    /// Answers for addresses with this in them break off in the middle.
    CutOff(&'static str),
    /// Addresses with this in them are answered once the host has another fault, or none.
    Held(&'static str),
}

/// One request.
#[derive(Clone, Debug)]
pub struct Asked {
    /// The path, without its first stroke.
    pub name: String,
    /// The status of the answer.
    pub status: u16,
}

struct Shared {
    fault: watch::Sender<Fault>,
    asked: Mutex<Vec<Asked>>,
}

/// The running host; stopped on drop.
pub struct Faulty {
    shared: Arc<Shared>,
    address: String,
    runtime: Option<Runtime>,
}

const FOR_A_WHILE: &str = "public, max-age=600";
const FOR_A_YEAR: &str = "public, max-age=31536000, immutable";

/// What a network shows to whoever has not signed in.
const SIGN_IN: &str = "<!doctype html><title>Sign in</title><h1>Welcome to the station's network</h1>";

impl Faulty {
    /// Serves a folder on a free port.
    ///
    /// # Errors
    ///
    /// When it cannot listen.
    pub fn start(folder: &Path) -> Result<Self> {
        let listener = TcpListener::bind(("127.0.0.1", 0)).context("listening")?;
        listener.set_nonblocking(true)?;
        let address = format!("http://localhost:{}/", listener.local_addr()?.port());
        let shared = Arc::new(Shared { fault: watch::Sender::new(Fault::None), asked: Mutex::default() });
        let app = Router::new()
            .fallback_service(ServeDir::new(folder))
            .layer(middleware::from_fn_with_state(Arc::clone(&shared), answer));
        let runtime = tokio::runtime::Builder::new_multi_thread().worker_threads(1).enable_all().build()?;
        let listener = {
            let _inside = runtime.enter();
            tokio::net::TcpListener::from_std(listener)?
        };
        runtime.spawn(async move {
            // It serves until the runtime ends; there is nobody to tell how.
            let _ = axum::serve(listener, app).await;
        });
        Ok(Self { shared, address, runtime: Some(runtime) })
    }

    /// The address, with a stroke at its end.
    #[must_use]
    pub fn address(&self) -> &str {
        &self.address
    }

    /// Switches to a fault, or to none.
    pub fn set(&self, fault: Fault) {
        self.shared.fault.send_replace(fault);
    }

    /// Takes what was asked since the start or the last time.
    #[must_use]
    pub fn take_asked(&self) -> Vec<Asked> {
        let mut asked = self.shared.asked.lock().unwrap_or_else(PoisonError::into_inner);
        std::mem::take(&mut *asked)
    }

    /// From here on nobody answers at the address.
    pub fn stop(&mut self) {
        if let Some(runtime) = self.runtime.take() {
            runtime.shutdown_background();
        }
    }
}

impl Drop for Faulty {
    fn drop(&mut self) {
        self.stop();
    }
}

/// Answers one request as the fault has it, and notes it.
async fn answer(State(shared): State<Arc<Shared>>, request: Request, next: Next) -> Response {
    let path = request.uri().path().to_owned();
    let holds = |fault: &Fault| matches!(fault, Fault::Held(part) if path.contains(part));
    // It waits no longer than the host runs.
    let waited = shared.fault.subscribe().wait_for(|fault| !holds(fault)).await.map(|fault| *fault);
    let fault = waited.unwrap_or(Fault::None);
    let response = match fault {
        Fault::LeadsToIndex if path == "/" => leads_to("/index.html"),
        Fault::PortalElsewhere if path != "/sign-in" => leads_to("/sign-in"),
        Fault::Portal | Fault::PortalElsewhere => kept(Html(SIGN_IN).into_response(), FOR_A_WHILE),
        Fault::PortalKeptFor(part) if path.contains(part) => kept(Html(SIGN_IN).into_response(), FOR_A_YEAR),
        Fault::CutOff(part) if path.contains(part) => cut_off(next.run(request).await).await,
        _ => kept(next.run(request).await, FOR_A_WHILE),
    };
    let mut asked = shared.asked.lock().unwrap_or_else(PoisonError::into_inner);
    asked.push(Asked { name: path.trim_start_matches('/').to_owned(), status: response.status().as_u16() });
    response
}

fn leads_to(address: &'static str) -> Response {
    (StatusCode::FOUND, [(header::LOCATION, address)]).into_response()
}

fn kept(mut response: Response, how_long: &'static str) -> Response {
    let how_long = HeaderValue::from_static(how_long);
    response.headers_mut().insert(header::CACHE_CONTROL, how_long);
    response
}

/// The head promises the whole length; half of the body comes, then the connection ends.
async fn cut_off(response: Response) -> Response {
    let (mut head, body) = response.into_parts();
    let Ok(whole) = to_bytes(body, usize::MAX).await else {
        return StatusCode::INTERNAL_SERVER_ERROR.into_response();
    };
    head.headers.insert(header::CONTENT_LENGTH, HeaderValue::from(whole.len()));
    let half = whole.slice(..whole.len() / 2);
    let parts = [Ok::<Bytes, std::io::Error>(half), Err(std::io::ErrorKind::ConnectionReset.into())];
    Response::from_parts(head, Body::from_stream(futures_util::stream::iter(parts)))
}
