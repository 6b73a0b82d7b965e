//! Takes connections: so many and no more, none that says nothing for too long.

use std::collections::HashMap;
use std::io;
use std::net::{IpAddr, SocketAddr};
use std::pin::{Pin, pin};
use std::sync::atomic::{AtomicBool, AtomicUsize, Ordering};
use std::sync::{Arc, Mutex, PoisonError};
use std::task::{Context, Poll};
use std::time::Duration;

use axum::Router;
use axum::body::Body;
use axum::extract::Request;
use hyper::body::Incoming;
use hyper::server::conn::http1;
use hyper_util::rt::{TokioIo, TokioTimer};
use tokio::io::{AsyncRead, AsyncWrite, ReadBuf};
use tokio::net::{TcpListener, TcpStream};
use tokio::task::JoinSet;
use tower::ServiceExt as _;
use whelpward_app::access::By;

use crate::Home;
use crate::access::{Connection, Refused};

/// How patient the server is (our own figures).
#[derive(Debug, Clone, Copy)]
pub struct Patience {
    /// From the first byte of a request to the end of its headers; an idle connection ends then too.
    pub headers: Duration,
    /// From the end of the headers to the end of the body. For the whole of it: a body that comes a byte at a
    /// time never pauses for long.
    pub body: Duration,
    /// Connections at once, from all and from one address.
    pub most: usize,
    pub most_of_one: usize,
    /// For what is being answered when the program ends.
    pub ending: Duration,
}

impl Default for Patience {
    fn default() -> Self {
        Self {
            headers: Duration::from_secs(15),
            body: Duration::from_secs(20),
            most: 256,
            most_of_one: 64,
            ending: Duration::from_secs(10),
        }
    }
}

/// Open connections by address.
#[derive(Default)]
struct Open(Mutex<HashMap<IpAddr, usize>>);

impl Open {
    fn enter(self: &Arc<Self>, from: IpAddr, patience: &Patience) -> Option<Held> {
        let mut open = self.0.lock().unwrap_or_else(PoisonError::into_inner);
        let of_one = open.get(&from).copied().unwrap_or(0);
        if of_one >= patience.most_of_one || open.values().sum::<usize>() >= patience.most {
            return None;
        }
        open.insert(from, of_one + 1);
        Some(Held { open: Arc::clone(self), from })
    }
}

struct Held {
    open: Arc<Open>,
    from: IpAddr,
}

impl Drop for Held {
    fn drop(&mut self) {
        let mut open = self.open.0.lock().unwrap_or_else(PoisonError::into_inner);
        if let Some(count) = open.get_mut(&self.from) {
            *count -= 1;
            if *count == 0 {
                open.remove(&self.from);
            }
        }
    }
}

/// Serves until `until` is ready; what is being answered then is finished.
pub async fn take(
    home: &Arc<Home>,
    pages: Router,
    listener: TcpListener,
    patience: Patience,
    until: impl Future<Output = ()>,
) {
    let open = Arc::new(Open::default());
    let (ending, _) = tokio::sync::watch::channel(false);
    let mut running = JoinSet::new();
    let mut until = pin!(until);
    loop {
        let (stream, peer) = tokio::select! {
            () = &mut until => break,
            Some(_) = running.join_next() => continue,
            taken = listener.accept() => {
                let Ok(taken) = taken else {
                    // Such as too many open files: others may end meanwhile.
                    tokio::time::sleep(Duration::from_millis(100)).await;
                    continue;
                };
                taken
            }
        };
        // Who has too many open is not answered at all.
        let Some(held) = open.enter(peer.ip().to_canonical(), &patience) else { continue };
        let (home, pages, mut ended) = (Arc::clone(home), pages.clone(), ending.subscribe());
        running.spawn(async move {
            let _held = held;
            one(&home, pages, stream, peer, patience, async move {
                // The sender lives as long as the server.
                let _ = ended.wait_for(|is_ended| *is_ended).await;
            })
            .await;
        });
    }
    drop(listener);
    ending.send_replace(true);
    let all = async { while running.join_next().await.is_some() {} };
    // Who has not finished by then is cut off when the set is dropped.
    let _ = tokio::time::timeout(patience.ending, all).await;
}

async fn one(
    home: &Arc<Home>,
    pages: Router,
    stream: TcpStream,
    peer: SocketAddr,
    patience: Patience,
    ended: impl Future<Output = ()>,
) {
    let Ok(local) = stream.local_addr() else { return };
    // Small answers go out at once.
    let _ = stream.set_nodelay(true);
    let connection = Connection { peer, local };
    let answered = Arc::new(AtomicUsize::new(0));
    let has_begun = Arc::new(AtomicBool::new(false));
    let counted = Arc::clone(&answered);
    let service = hyper::service::service_fn(move |request: hyper::Request<Incoming>| {
        counted.fetch_add(1, Ordering::Relaxed);
        let mut request: Request = request.map(Body::new);
        request.extensions_mut().insert(connection);
        request.extensions_mut().insert(patience);
        pages.clone().oneshot(request)
    });
    let io = TokioIo::new(Heard { stream, has_begun: Arc::clone(&has_begun) });
    let mut served = pin!(
        http1::Builder::new()
            .timer(TokioTimer::new())
            .header_read_timeout(patience.headers)
            .serve_connection(io, service)
    );
    let outcome = tokio::select! {
        outcome = &mut served => outcome,
        () = ended => {
            served.as_mut().graceful_shutdown();
            served.await
        }
    };
    // A browser keeps ways open that it does not use; only who began a request and never ended it is slow.
    let is_slow = outcome.is_err_and(|e| e.is_timeout());
    if is_slow && has_begun.load(Ordering::Relaxed) && answered.load(Ordering::Relaxed) == 0 {
        let by = By { address: peer.ip().to_canonical().to_string(), ..By::default() };
        home.doors.refusals.write(&home.book.store, &by, &Refused::new("slow"), "", (home.clock)()).await;
    }
}

/// A stream that remembers whether anything came.
struct Heard {
    stream: TcpStream,
    has_begun: Arc<AtomicBool>,
}

impl AsyncRead for Heard {
    fn poll_read(mut self: Pin<&mut Self>, cx: &mut Context<'_>, buffer: &mut ReadBuf<'_>) -> Poll<io::Result<()>> {
        let before = buffer.filled().len();
        let read = Pin::new(&mut self.stream).poll_read(cx, buffer);
        if buffer.filled().len() > before {
            self.has_begun.store(true, Ordering::Relaxed);
        }
        read
    }
}

impl AsyncWrite for Heard {
    fn poll_write(mut self: Pin<&mut Self>, cx: &mut Context<'_>, bytes: &[u8]) -> Poll<io::Result<usize>> {
        Pin::new(&mut self.stream).poll_write(cx, bytes)
    }

    fn poll_flush(mut self: Pin<&mut Self>, cx: &mut Context<'_>) -> Poll<io::Result<()>> {
        Pin::new(&mut self.stream).poll_flush(cx)
    }

    fn poll_shutdown(mut self: Pin<&mut Self>, cx: &mut Context<'_>) -> Poll<io::Result<()>> {
        Pin::new(&mut self.stream).poll_shutdown(cx)
    }

    fn poll_write_vectored(
        mut self: Pin<&mut Self>,
        cx: &mut Context<'_>,
        bytes: &[io::IoSlice<'_>],
    ) -> Poll<io::Result<usize>> {
        Pin::new(&mut self.stream).poll_write_vectored(cx, bytes)
    }

    fn is_write_vectored(&self) -> bool {
        self.stream.is_write_vectored()
    }
}
