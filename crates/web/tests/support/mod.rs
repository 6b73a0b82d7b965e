//! A household's pages without a network: the router, a browser's cookies, a clock that is set.

#![allow(dead_code, reason = "each file of tests uses its part")]

use std::collections::BTreeMap;
use std::net::{IpAddr, SocketAddr};
use std::sync::{Arc, Mutex};

use axum::Router;
use axum::body::Body;
use axum::http::{HeaderMap, Request, StatusCode, header};
use http_body_util::BodyExt as _;
use jiff::Timestamp;
use tower::ServiceExt as _;
use whelpward_app::access::{self, By, Role};
use whelpward_app::{Backups, Book, Keep};
use whelpward_store::Store;
use whelpward_web::{Connection, Home, HomeNetwork, OwnAddresses, Padlock, Places, router};

pub const HOST: &str = "127.0.0.1:7317";
pub const NOW: &str = "2026-11-25T20:00:00Z";

/// A milk replacer of powder that has been looked at and is in use, as its form sends it.
pub const REPLACER: [(&str, &str); 7] = [
    ("id", "replacer"),
    ("kind", "puppy_powder"),
    ("kcal_per_ml", "1.1"),
    ("powder_g", "10"),
    ("water_ml", "25"),
    ("use", "yes"),
    ("looked", "yes"),
];

pub struct House {
    pub router: Router,
    pub home: Arc<Home>,
    pub time: Arc<Mutex<Timestamp>>,
    cookies: BTreeMap<String, String>,
    pub store: Store,
    pub folder: tempfile::TempDir,
}

pub struct Answer {
    pub status: StatusCode,
    pub headers: HeaderMap,
    pub text: String,
}

impl Answer {
    pub fn location(&self) -> String {
        self.headers
            .get(header::LOCATION)
            .unwrap_or_else(|| panic!("no way on: {}", self.text))
            .to_str()
            .unwrap()
            .into()
    }
}

impl House {
    pub async fn new() -> Self {
        Self::with(|home| home).await
    }

    /// Over the home network, where phones find it at this address.
    pub async fn over_network(at: &str) -> Self {
        Self::with(|home| home.over_home_network(HomeNetwork::new(places("http", at), None))).await
    }

    /// The same, with what is served over https beside it.
    pub async fn with_padlock(at: &str, padlock: Padlock) -> Self {
        Self::with(|home| home.over_home_network(HomeNetwork::new(places("http", at), Some(padlock)))).await
    }

    pub async fn with(reach: impl FnOnce(Home) -> Home) -> Self {
        let folder = tempfile::tempdir().unwrap();
        let store = Store::open_sqlite(&folder.path().join("book.sqlite")).await.unwrap();
        let time = Arc::new(Mutex::new(NOW.parse::<Timestamp>().unwrap()));
        let clock = Arc::clone(&time);
        let clock = Arc::new(move || *clock.lock().unwrap());
        let home = Home::open(Book::new(store.clone()), folder.path().into(), clock, vec![HOST.into()]).await.unwrap();
        let copies = Backups { folder: folder.path().join("copies"), second: None, keep: Keep::default() };
        let home = Arc::new(reach(home.with_copies(copies)));
        Self { router: router(Arc::clone(&home)), home, time, cookies: BTreeMap::new(), store, folder }
    }

    pub fn now(&self) -> Timestamp {
        *self.time.lock().unwrap()
    }

    pub fn pass_minutes(&self, minutes: i64) {
        let mut time = self.time.lock().unwrap();
        *time += jiff::SignedDuration::from_mins(minutes);
    }

    pub async fn send(&mut self, request: Request<Body>) -> Answer {
        send(&self.router, &mut self.cookies, request).await
    }

    pub async fn get(&mut self, path: &str) -> Answer {
        let path = path.split('#').next().unwrap();
        self.send(Request::get(path).header(header::HOST, HOST).body(Body::empty()).unwrap()).await
    }

    pub async fn page(&mut self, path: &str) -> String {
        let answer = self.get(path).await;
        assert_eq!(answer.status, StatusCode::OK, "{path}: {}", answer.text);
        answer.text
    }

    pub async fn token(&mut self) -> String {
        let page = self.page("/new").await;
        between(&page, "name=\"token\" value=\"", "\"").to_owned()
    }

    /// Sends a form as a page of ours would.
    pub async fn post(&mut self, path: &str, fields: &[(&str, &str)]) -> Answer {
        let token = self.token().await;
        let mut all = vec![("token", token.as_str())];
        all.extend(fields);
        self.send(post(path, HOST, Some(&format!("http://{HOST}")), &all)).await
    }

    /// Sends a form that must lead to another page, and gives that page.
    pub async fn saved(&mut self, path: &str, fields: &[(&str, &str)]) -> String {
        let answer = self.post(path, fields).await;
        assert_eq!(answer.status, StatusCode::SEE_OTHER, "{path}: {}", answer.text);
        self.page(&answer.location()).await
    }

    /// Lays out the examples and gives the address of the one first shown, such as `/example/…`.
    pub async fn example(&mut self) -> String {
        let answer = self.post("/examples", &[]).await;
        answer.location().strip_suffix("/now").unwrap().to_owned()
    }

    /// A litter with these pups, born an hour ago.
    pub async fn litter(&mut self, pups: &[(&str, &str)]) -> String {
        let fields = [
            ("name", "Clover"),
            ("breed", "Maltese"),
            ("scale_step_g", "1"),
            ("time_zone", "Europe/Berlin"),
            ("weight_unit", "g"),
            ("vet", "Night clinic"),
            ("phone", "000 333 444"),
        ];
        let at = self.post("/new", &fields).await.location().strip_suffix("/now").unwrap().to_owned();
        for (name, weight) in pups {
            let fields = [
                ("name", *name),
                ("sex", "female"),
                ("coat", "white"),
                ("colour", "red"),
                ("pattern", "dots"),
                ("weight", *weight),
                ("unit", "g"),
                ("at", "20:00"),
            ];
            self.saved(&format!("{at}/birth"), &fields).await;
        }
        at
    }
}

/// A new empty database on the PostgreSQL of the tests; gives its name.
pub async fn fresh_database(server: &str, name: &str) -> String {
    use sqlx::Executor as _;
    sqlx::any::install_default_drivers();
    let pool = sqlx::AnyPool::connect(&format!("{server}/postgres")).await.unwrap();
    pool.execute(sqlx::AssertSqlSafe(format!("CREATE DATABASE {name}"))).await.unwrap();
    pool.close().await;
    name.to_owned()
}

/// A computer with this one number, which it keeps.
pub fn places(scheme: &'static str, at: &str) -> Places {
    let at: SocketAddr = at.parse().unwrap();
    Places { scheme, port: at.port(), numbers: numbers(&[at.ip()]), names: Vec::new() }
}

/// A computer that keeps these numbers.
pub fn numbers(all: &[IpAddr]) -> Arc<OwnAddresses> {
    Arc::new(OwnAddresses::fixed(all.to_vec()))
}

/// Where phones of the tests find the pages.
pub const AT: &str = "192.168.1.5:7317";

/// Where the phones of the tests are.
pub const PHONE: &str = "192.168.1.23:50001";

/// A phone that joined by a link.
pub async fn phone(house: &House, name: &str, role: Role) -> Browser {
    let link = access::phone_link(&house.store, &By::default(), name, role, house.now()).await.unwrap();
    let mut browser = Browser::at(&house.router, PHONE);
    let path = format!("/j/{link}");
    let answer = browser.post(&path, &path, &[]).await;
    assert_eq!(answer.status, StatusCode::SEE_OTHER, "{}", answer.text);
    assert!(browser.session().is_some());
    browser
}

/// A browser somewhere, with cookies of its own.
#[derive(Clone)]
pub struct Browser {
    router: Router,
    pub cookies: BTreeMap<String, String>,
    pub peer: SocketAddr,
    /// The address of the computer with the pages at which it asks.
    pub at: String,
    /// It asks over https.
    pub is_secure: bool,
}

impl Browser {
    pub fn at(router: &Router, peer: &str) -> Self {
        let (peer, cookies) = (peer.parse().unwrap(), BTreeMap::new());
        Self { router: router.clone(), cookies, peer, at: AT.into(), is_secure: false }
    }

    /// The same browser over https, or over plain http.
    pub fn over(self, is_secure: bool) -> Self {
        Self { is_secure, ..self }
    }

    pub async fn send(&mut self, mut request: Request<Body>) -> Answer {
        let connection = Connection { peer: self.peer, local: self.at.parse().unwrap(), is_secure: self.is_secure };
        request.extensions_mut().insert(connection);
        send(&self.router, &mut self.cookies, request).await
    }

    pub async fn get(&mut self, path: &str) -> Answer {
        self.send(Request::get(path).header(header::HOST, &self.at).body(Body::empty()).unwrap()).await
    }

    /// A form of one of our pages, as far as a page gives this browser a token.
    pub async fn post(&mut self, page: &str, path: &str, fields: &[(&str, &str)]) -> Answer {
        let text = self.get(page).await.text;
        let token = if text.contains("name=\"token\"") { between(&text, "name=\"token\" value=\"", "\"") } else { "" };
        let mut all = vec![("token", token)];
        all.extend(fields);
        let scheme = if self.is_secure { "https" } else { "http" };
        let at = self.at.clone();
        self.send(post(path, &at, Some(&format!("{scheme}://{at}")), &all)).await
    }

    pub fn session(&self) -> Option<&String> {
        let name = if self.is_secure { "__Host-whelpward_session" } else { "whelpward_session" };
        self.cookies.get(name).filter(|s| !s.is_empty())
    }
}

/// Sends a request with a browser's cookies, and keeps those that come back.
pub async fn send(router: &Router, cookies: &mut BTreeMap<String, String>, mut request: Request<Body>) -> Answer {
    let sent: Vec<String> = cookies.iter().map(|(n, v)| format!("{n}={v}")).collect();
    if !sent.is_empty() {
        request.headers_mut().insert(header::COOKIE, sent.join("; ").parse().unwrap());
    }
    let response = router.clone().oneshot(request).await.unwrap();
    let (parts, body) = response.into_parts();
    for cookie in parts.headers.get_all(header::SET_COOKIE) {
        let pair = cookie.to_str().unwrap().split(';').next().unwrap();
        let (name, value) = pair.split_once('=').unwrap();
        cookies.insert(name.into(), value.into());
    }
    let bytes = body.collect().await.unwrap().to_bytes();
    Answer { status: parts.status, headers: parts.headers, text: String::from_utf8_lossy(&bytes).into_owned() }
}

pub fn post(path: &str, host: &str, origin: Option<&str>, fields: &[(&str, &str)]) -> Request<Body> {
    let mut request = Request::post(path)
        .header(header::HOST, host)
        .header(header::CONTENT_TYPE, "application/x-www-form-urlencoded");
    if let Some(origin) = origin {
        request = request.header(header::ORIGIN, origin);
    }
    let body: Vec<String> = fields.iter().map(|(n, v)| format!("{}={}", encoded(n), encoded(v))).collect();
    request.body(Body::from(body.join("&"))).unwrap()
}

fn encoded(text: &str) -> String {
    text.bytes()
        .map(|b| if b.is_ascii_alphanumeric() { (b as char).to_string() } else { format!("%{b:02X}") })
        .collect()
}

pub fn between<'t>(text: &'t str, start: &str, end: &str) -> &'t str {
    let from = text.find(start).unwrap_or_else(|| panic!("no {start} in {text}")) + start.len();
    &text[from..from + text[from..].find(end).unwrap()]
}

/// The address of a pup's page in a page of its litter.
pub fn pup_id(page: &str, name: &str) -> String {
    let mut rest = page;
    while let Some(at) = rest.find("/pup/") {
        let id = &rest[at + 5..at + 41];
        let card = &rest[at..rest[at..].find("</a>").map_or(rest.len(), |e| at + e)];
        if card.contains(&format!("<strong>{name}</strong>")) {
            return id.to_owned();
        }
        rest = &rest[at + 41..];
    }
    panic!("no pup {name} in {page}")
}
