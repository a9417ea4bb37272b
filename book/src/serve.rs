//! The book on this machine's own address, built again when a source has changed.

use std::io::{self, Write};
use std::net::{Ipv4Addr, SocketAddr};
use std::path::Path;
use std::sync::{Arc, Mutex};
use std::time::SystemTime;

use axum::Router;
use axum::extract::{Request, State};
use axum::http::StatusCode;
use axum::http::header::CACHE_CONTROL;
use axum::middleware::{self, Next};
use axum::response::{IntoResponse, Response};
use tower_http::services::ServeDir;

use crate::edition::Edition;

struct Shelf {
    edition: Edition,
    built_at: Mutex<SystemTime>,
}

/// Serves an edition, already built into `folder`, until the process ends. Nobody
/// but this machine can reach it.
///
/// # Errors
/// What the system says where the port is taken.
pub fn serve(edition: Edition, folder: &Path, port: u16, out: &mut dyn Write) -> io::Result<()> {
    let runtime = tokio::runtime::Builder::new_current_thread()
        .enable_all()
        .build()?;
    runtime.block_on(async {
        let address = SocketAddr::from((Ipv4Addr::LOCALHOST, port));
        let listener = tokio::net::TcpListener::bind(address).await?;
        writeln!(out, "The book is at http://{}", listener.local_addr()?)?;
        out.flush()?;
        axum::serve(listener, router(edition, folder)).await
    })
}

fn router(edition: Edition, folder: &Path) -> Router {
    let shelf = Arc::new(Shelf {
        edition,
        built_at: Mutex::new(SystemTime::now()),
    });
    Router::new()
        .fallback_service(ServeDir::new(folder))
        .layer(middleware::from_fn_with_state(shelf, up_to_date))
}

async fn up_to_date(State(shelf): State<Arc<Shelf>>, request: Request, next: Next) -> Response {
    let path = request.uri().path();
    if path.ends_with('/') || path.ends_with(".html") {
        let rebuilt = tokio::task::spawn_blocking(move || shelf.rebuild_if_changed()).await;
        if let Ok(Err(message)) = rebuilt {
            return (StatusCode::INTERNAL_SERVER_ERROR, message).into_response();
        }
    }
    let mut response = next.run(request).await;
    let headers = response.headers_mut();
    headers.insert(
        CACHE_CONTROL,
        axum::http::HeaderValue::from_static("no-store"),
    );
    response
}

impl Shelf {
    fn rebuild_if_changed(&self) -> Result<(), String> {
        let mut built_at = self.built_at.lock().map_err(|error| error.to_string())?;
        let newest = newest(self.edition.root()).map_err(|error| error.to_string())?;
        if newest > *built_at {
            self.edition.build().map_err(|error| error.to_string())?;
            *built_at = newest;
        }
        Ok(())
    }
}

/// When the newest source was written.
fn newest(root: &Path) -> io::Result<SystemTime> {
    let mut newest = root.join("book.toml").metadata()?.modified()?;
    let mut folders = vec![root.join("text"), root.join("theme")];
    while let Some(folder) = folders.pop() {
        for entry in std::fs::read_dir(folder)? {
            let entry = entry?;
            let about = entry.metadata()?;
            if about.is_dir() {
                folders.push(entry.path());
            } else {
                newest = newest.max(about.modified()?);
            }
        }
    }
    Ok(newest)
}
