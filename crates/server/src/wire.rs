//! Connections: how many, how long, how large.

use crate::app::{App, Options};
use crate::routes;
use axum::extract::Request;
use hyper::body::Incoming;
use hyper::server::conn::http1;
use hyper::service::service_fn;
use hyper_util::rt::{TokioIo, TokioTimer};
use std::io;
use std::net::{IpAddr, SocketAddr, TcpListener};
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};
use std::time::Duration;
use tokio::sync::Semaphore;
use tower_service::Service;

/// The most connections at a time; others wait.
const MOST_CONNECTIONS: usize = 96;
/// How long a request's head may take.
const HEAD: Duration = Duration::from_secs(10);
/// The most that a head may hold, bytes.
const MOST_HEAD: usize = 32 << 10;
/// The most headers.
const MOST_HEADERS: usize = 64;
/// Threads that make answers: a workshop has a few browsers, and a page is made in milliseconds.
const ANSWERING: usize = 8;
/// How often it is looked whether to stop.
const LOOK: Duration = Duration::from_millis(50);

/// A folder that is ready to be served.
#[derive(Debug)]
pub struct Server {
    app: Arc<App>,
    listener: TcpListener,
    at: SocketAddr,
}

impl Server {
    /// Takes the address; nothing is answered before [`Server::run`].
    ///
    /// # Errors
    /// Where the folder is not there, the address cannot be had, or the machine gives no random numbers.
    pub fn open(options: &Options) -> io::Result<Self> {
        let listener = TcpListener::bind((options.address, options.port))?;
        listener.set_nonblocking(true)?;
        let at = listener.local_addr()?;
        Ok(Self {
            app: Arc::new(App::new(options, at)?),
            listener,
            at,
        })
    }

    /// The first address, with the token that lets its reader in; where there is a password, without one.
    #[must_use]
    pub fn address(&self) -> String {
        let host = match self.at.ip() {
            // All addresses of this machine: here it goes by this one, elsewhere by its own.
            IpAddr::V4(address) if address.is_unspecified() => "127.0.0.1".to_owned(),
            IpAddr::V4(address) => address.to_string(),
            IpAddr::V6(address) => format!("[{address}]"),
        };
        let port = self.at.port();
        match self.app.guard.has_password() {
            true => format!("http://{host}:{port}/"),
            false => format!("http://{host}:{port}/enter?token={}", self.app.guard.token()),
        }
    }

    /// Answers until `stop` is set; a search that runs then is stopped, and what it has found is kept first.
    ///
    /// # Errors
    /// Where the machine gives no threads.
    pub fn run(self, stop: &AtomicBool) -> io::Result<()> {
        let runtime = tokio::runtime::Builder::new_multi_thread()
            .worker_threads(2)
            .max_blocking_threads(ANSWERING)
            .enable_io()
            .enable_time()
            .build()?;
        let app = Arc::clone(&self.app);
        runtime.block_on(async {
            let listener = tokio::net::TcpListener::from_std(self.listener)?;
            let serving = tokio::spawn(accept(listener, Arc::clone(&app)));
            while !stop.load(Ordering::Relaxed) {
                tokio::time::sleep(LOOK).await;
            }
            serving.abort();
            Ok::<(), io::Error>(())
        })?;
        app.runs.end();
        runtime.shutdown_timeout(Duration::from_secs(2));
        Ok(())
    }
}

async fn accept(listener: tokio::net::TcpListener, app: Arc<App>) {
    let router = routes::router(app);
    let room = Arc::new(Semaphore::new(MOST_CONNECTIONS));
    loop {
        let Ok(permit) = Arc::clone(&room).acquire_owned().await else {
            return;
        };
        let Ok((stream, _)) = listener.accept().await else {
            // Too many files open, or a connection that is gone already.
            tokio::time::sleep(LOOK).await;
            continue;
        };
        let router = router.clone();
        tokio::spawn(async move {
            let answer =
                service_fn(move |request: Request<Incoming>| router.clone().call(request.map(axum::body::Body::new)));
            let connection = http1::Builder::new()
                .timer(TokioTimer::new())
                .header_read_timeout(HEAD)
                .max_buf_size(MOST_HEAD)
                .max_headers(MOST_HEADERS)
                .half_close(false)
                .serve_connection(TokioIo::new(stream), answer);
            // A browser that goes away in the middle is no fault.
            let _ = connection.await;
            drop(permit);
        });
    }
}
