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
use jiff::Timestamp;
use tokio::io::{AsyncRead, AsyncWrite, ReadBuf};
use tokio::net::{TcpListener, TcpStream};
use tokio::task::JoinSet;
use tokio_rustls::TlsAcceptor;
use tower::ServiceExt as _;
use whelpward_app::access::By;

use crate::Home;
use crate::access::{Connection, Refused};
use crate::https::Https;

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

/// Where connections come in: over plain http, and over https beside it.
pub struct Listeners {
    pub plain: TcpListener,
    pub secure: Option<(TcpListener, Arc<Https>)>,
}

impl From<TcpListener> for Listeners {
    fn from(plain: TcpListener) -> Self {
        Self { plain, secure: None }
    }
}

impl Listeners {
    async fn next(&self) -> io::Result<(TcpStream, SocketAddr, Option<&Https>)> {
        let Some((secure, https)) = &self.secure else {
            return self.plain.accept().await.map(|(stream, peer)| (stream, peer, None));
        };
        tokio::select! {
            taken = self.plain.accept() => taken.map(|(stream, peer)| (stream, peer, None)),
            taken = secure.accept() => taken.map(|(stream, peer)| (stream, peer, Some(&**https))),
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
    listeners: Listeners,
    patience: Patience,
    until: impl Future<Output = ()>,
) {
    let open = Arc::new(Open::default());
    let (ending, _) = tokio::sync::watch::channel(false);
    let mut running = JoinSet::new();
    let mut until = pin!(until);
    loop {
        let (stream, peer, https) = tokio::select! {
            () = &mut until => break,
            Some(_) = running.join_next() => continue,
            taken = listeners.next() => {
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
        // Who has hung up already has no address any more.
        let Ok(local) = stream.local_addr() else { continue };
        if let Some(network) = &home.doors.network {
            network.met_at(local.ip());
        }
        let acceptor = match https.map(|https| https.acceptor(local.ip(), Timestamp::now())).transpose() {
            Ok(acceptor) => acceptor,
            Err(error) => {
                // Plain http goes on; whoever looks at the terminal sees why the other does not.
                eprintln!("{error}");
                continue;
            }
        };
        let (home, pages, mut ended) = (Arc::clone(home), pages.clone(), ending.subscribe());
        running.spawn(async move {
            let _held = held;
            let connection = Connection { peer, local, is_secure: acceptor.is_some() };
            one(&home, pages, (stream, acceptor), connection, patience, async move {
                // The sender lives as long as the server.
                let _ = ended.wait_for(|is_ended| *is_ended).await;
            })
            .await;
        });
    }
    drop(listeners);
    ending.send_replace(true);
    let all = async { while running.join_next().await.is_some() {} };
    // Who has not finished by then is cut off when the set is dropped.
    let _ = tokio::time::timeout(patience.ending, all).await;
}

async fn one(
    home: &Arc<Home>,
    pages: Router,
    (stream, acceptor): (TcpStream, Option<TlsAcceptor>),
    connection: Connection,
    patience: Patience,
    ended: impl Future<Output = ()>,
) {
    // Small answers go out at once.
    let _ = stream.set_nodelay(true);
    let Some(acceptor) = acceptor else { return answer(home, pages, stream, connection, patience, ended).await };
    // Who does not trust the certificate, or says nothing, has gone by then.
    if let Ok(Ok(stream)) = tokio::time::timeout(patience.headers, acceptor.accept(stream)).await {
        answer(home, pages, stream, connection, patience, ended).await;
    }
}

async fn answer<S: AsyncRead + AsyncWrite + Unpin + Send + 'static>(
    home: &Arc<Home>,
    pages: Router,
    stream: S,
    connection: Connection,
    patience: Patience,
    ended: impl Future<Output = ()>,
) {
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
        let by = By { address: connection.address(), ..By::default() };
        home.doors.refusals.write(&home.book.store, &by, &Refused::new("slow"), "", (home.clock)()).await;
    }
}

/// A stream that remembers whether anything came.
struct Heard<S> {
    stream: S,
    has_begun: Arc<AtomicBool>,
}

impl<S: AsyncRead + Unpin> AsyncRead for Heard<S> {
    fn poll_read(mut self: Pin<&mut Self>, cx: &mut Context<'_>, buffer: &mut ReadBuf<'_>) -> Poll<io::Result<()>> {
        let before = buffer.filled().len();
        let read = Pin::new(&mut self.stream).poll_read(cx, buffer);
        if buffer.filled().len() > before {
            self.has_begun.store(true, Ordering::Relaxed);
        }
        read
    }
}

impl<S: AsyncWrite + Unpin> AsyncWrite for Heard<S> {
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
