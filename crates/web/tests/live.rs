//! The stream that tells open pages of news.

mod support;

use std::sync::Arc;
use std::time::Duration;

use axum::body::Body;
use axum::http::{Request, StatusCode, header};
use http_body_util::BodyExt as _;
use support::{HOST, House, between};
use tokio::io::{AsyncReadExt as _, AsyncWriteExt as _};
use tower::ServiceExt as _;
use whelpward_app::{Book, Weight, Who, weigh};
use whelpward_store::Store;

/// Long enough for a busy machine; no test asks how long it took.
const PATIENCE: Duration = Duration::from_mins(1);

async fn listen(house: &House, path: &str) -> axum::response::Response {
    let request = Request::get(path).header(header::HOST, HOST).body(Body::empty()).unwrap();
    house.router.clone().oneshot(request).await.unwrap()
}

/// The next event that is more than a heartbeat.
async fn event(body: &mut Body) -> String {
    loop {
        let frame = tokio::time::timeout(PATIENCE, body.frame()).await.expect("news").expect("not the end").unwrap();
        let text = String::from_utf8(frame.into_data().unwrap().to_vec()).unwrap();
        if text.contains("event:") && !text.contains("event: beat") {
            return text;
        }
    }
}

/// The place of the book that a page shows.
async fn place(house: &mut House, at: &str) -> i64 {
    let page = house.page(&format!("{at}/now")).await;
    between(&page, "data-place=\"", "\"").parse().unwrap()
}

#[tokio::test]
async fn what_another_program_writes_is_told_and_advice_is_not() {
    let mut house = House::new().await;
    let at = house.litter(&[("Ash", "180")]).await;
    let since = place(&mut house, &at).await;
    let stream = listen(&house, &format!("{at}/live?since={since}")).await;
    assert_eq!(stream.headers()[header::CONTENT_TYPE], "text/event-stream");
    assert!(stream.headers().contains_key(header::CONTENT_SECURITY_POLICY));
    let mut body = stream.into_body();
    // It has looked once, and waits, when the others write.
    let told = tokio::spawn(async move { event(&mut body).await });
    tokio::time::sleep(Duration::from_millis(100)).await;

    // Another program on the same file. The page *now* writes its advice down; that is no news.
    house.page(&format!("{at}/now")).await;
    let store = Store::open_sqlite(&house.folder.path().join("book.sqlite")).await.unwrap();
    let other = Book::new(store);
    let litter = at.rsplit('/').next().unwrap().parse().unwrap();
    let now = *house.time.lock().unwrap();
    let pup = other.load(litter).await.unwrap().pup("Ash").unwrap();
    let who = Who { carer: None, device: "another-computer".into() };
    let weight =
        Weight { litter, pup, at: now, weight: "184".into(), unit: "g".into(), taken: None, note: None, is_kept: true };
    let saved = weigh(&other, &who, weight, now).await.unwrap();
    let told = told.await.unwrap();
    assert!(told.contains("event: changed"), "{told}");
    let place_told: i64 = between(&told, "data: ", "\n").parse().unwrap();
    assert!(place_told > since);
    let last = other.store.last_seq_of(litter).await.unwrap();
    assert_eq!(place_told, last, "one event for it, and none for the advice before it");
    assert_eq!(saved.facts.len(), 1);
    assert_eq!(place(&mut house, &at).await, place_told, "a page asked for now shows it");
}

#[tokio::test]
async fn news_between_the_page_and_its_stream_is_told_at_once() {
    let mut house = House::new().await;
    let at = house.litter(&[("Ash", "180")]).await;
    let mut body = listen(&house, &format!("{at}/live?since=1")).await.into_body();
    assert!(event(&mut body).await.contains("event: changed"));
}

#[tokio::test]
async fn there_is_an_end_to_the_streams_that_are_kept_open() {
    let mut house = House::new().await;
    let at = house.litter(&[("Ash", "180")]).await;
    let path = format!("{at}/live");
    let mut open = Vec::new();
    for _ in 0..64 {
        let stream = listen(&house, &path).await;
        assert_eq!(stream.status(), StatusCode::OK);
        open.push(stream);
    }
    assert_eq!(listen(&house, &path).await.status(), StatusCode::SERVICE_UNAVAILABLE);
    open.pop();
    assert_eq!(listen(&house, &path).await.status(), StatusCode::OK, "a place that was left is free");
}

#[tokio::test]
async fn an_open_stream_does_not_keep_the_server_from_stopping() {
    let mut house = House::new().await;
    let at = house.litter(&[("Ash", "180")]).await;
    let listener = tokio::net::TcpListener::bind("127.0.0.1:0").await.unwrap();
    let address = listener.local_addr().unwrap();
    let (stop, stopped) = tokio::sync::oneshot::channel::<()>();
    let served = tokio::spawn(whelpward_web::serve(
        Arc::clone(&house.home),
        listener,
        whelpward_web::Patience::default(),
        async {
            stopped.await.unwrap();
        },
    ));
    let mut way = tokio::net::TcpStream::connect(address).await.unwrap();
    way.write_all(format!("GET {at}/live HTTP/1.1\r\nHost: {HOST}\r\n\r\n").as_bytes()).await.unwrap();
    let mut bytes = [0; 1024];
    let length = way.read(&mut bytes).await.unwrap();
    assert!(String::from_utf8_lossy(&bytes[..length]).starts_with("HTTP/1.1 200"));
    stop.send(()).unwrap();
    tokio::time::timeout(PATIENCE, served).await.expect("it stops").unwrap().unwrap();
}
