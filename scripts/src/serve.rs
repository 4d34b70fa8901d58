//! Serves a finished build on this machine, with the headers a good static host would send.

use anyhow::{Context, Result, bail};
use axum::Router;
use axum::extract::Request;
use axum::http::{HeaderValue, header};
use axum::middleware::{self, Next};
use axum::response::Response;
use axum::serve::ListenerExt as _;
use std::io::Write as _;
use std::path::{Path, PathBuf};
use tokio::net::TcpListener;
use tower_http::services::ServeDir;
use xtask::args::Args;
use xtask::build::{self, Extra, Profile};

/// The port when nobody names one, and how many after it are tried when it is taken.
const PORT: u16 = 8042;
const PORTS_TRIED: u16 = 20;

/// `cargo xtask serve`.
///
/// # Errors
///
/// When the build fails, or no port is free.
pub(crate) fn run(mut args: Args) -> Result<()> {
    let profile = Profile::from_args(&mut args);
    let port = args.number::<u16>("--port")?;
    let dir = args.value("--dir")?.map(PathBuf::from);
    let base = args.value("--base")?.unwrap_or_default();
    let no_build = args.switch("--no-build");
    args.end()?;
    let dir = dir.unwrap_or_else(|| profile.dist());
    if !no_build {
        build::build(profile, Extra::None, &dir, "")?;
    }
    if !dir.join("sw.js").is_file() {
        bail!("{} holds no build", dir.display());
    }
    let base = base.trim_matches('/').to_owned();
    tokio::runtime::Builder::new_multi_thread().enable_all().build()?.block_on(serve(&dir, &base, port))
}

/// Listens until the process is ended.
async fn serve(dir: &Path, base: &str, port: Option<u16>) -> Result<()> {
    let listener = listen(port).await?;
    let port = listener.local_addr()?.port();
    let path = if base.is_empty() { "/".to_owned() } else { format!("/{base}/") };
    println!(
        "Bloomdue: http://localhost:{port}{path}\n\
         On a phone by cable: let the phone's own port {port} lead to this one \
         (for Android: adb reverse tcp:{port} tcp:{port}), then open the same address there."
    );
    // Whoever started this reads the address from a pipe, which would hold it back.
    std::io::stdout().flush()?;
    let files = ServeDir::new(dir);
    let app = if base.is_empty() {
        Router::new().fallback_service(files)
    } else {
        Router::new().nest_service(&format!("/{base}"), files)
    };
    let app = app.layer(middleware::from_fn(headers));
    // Without this, answers on a reused connection wait some 40 ms for an acknowledgement.
    let listener = listener.tap_io(|stream| {
        if let Err(problem) = stream.set_nodelay(true) {
            eprintln!("a connection stays slow: {problem}");
        }
    });
    axum::serve(listener, app).await?;
    Ok(())
}

/// Takes the named port, or the usual one or the next that is free.
async fn listen(port: Option<u16>) -> Result<TcpListener> {
    if let Some(port) = port {
        return TcpListener::bind(("127.0.0.1", port)).await.with_context(|| format!("port {port} is not free"));
    }
    for port in PORT..PORT + PORTS_TRIED {
        if let Ok(listener) = TcpListener::bind(("127.0.0.1", port)).await {
            return Ok(listener);
        }
    }
    bail!("no port from {PORT} to {} is free", PORT + PORTS_TRIED - 1)
}

/// Files with a hash in their name may be kept for ever, everything else is asked for again.
async fn headers(request: Request, next: Next) -> Response {
    let hashed = is_hashed(request.uri().path());
    let mut response = next.run(request).await;
    let keep =
        if hashed && response.status().is_success() { "public, max-age=31536000, immutable" } else { "no-cache" };
    let headers = response.headers_mut();
    headers.insert(header::CACHE_CONTROL, HeaderValue::from_static(keep));
    headers.insert(header::X_CONTENT_TYPE_OPTIONS, HeaderValue::from_static("nosniff"));
    // The one rule of the content-security policy that a page cannot set for itself.
    headers.insert(header::CONTENT_SECURITY_POLICY, HeaderValue::from_static("frame-ancestors 'none'"));
    response
}

/// True for names like `bloomdue-0123456789abcdef.wasm`.
fn is_hashed(path: &str) -> bool {
    let name = path.rsplit('/').next().unwrap_or_default();
    let stem = name.split('.').next().unwrap_or_default();
    stem.rsplit_once('-').is_some_and(|(_, hash)| hash.len() == 16 && hash.bytes().all(|b| b.is_ascii_hexdigit()))
}

#[cfg(test)]
mod tests {
    use super::is_hashed;

    #[test]
    fn only_names_with_a_hash_may_be_kept_for_ever() {
        assert!(is_hashed("/a/bloomdue-0123456789abcdef.wasm"));
        assert!(!is_hashed("/sw.js"));
        assert!(!is_hashed("/icons/icon-512.png"));
        assert!(!is_hashed("/"));
    }
}
