//! The address of the computer with the pages changes while they are served.

mod support;

use std::net::{IpAddr, SocketAddr};
use std::sync::{Arc, Mutex};

use axum::body::Body;
use axum::http::{Request, StatusCode, header};
use jiff::{SignedDuration, Timestamp};
use support::{AT, Browser, House, PHONE, phone};
use tokio::io::{AsyncReadExt as _, AsyncWriteExt as _};
use whelpward_app::access::Role;
use whelpward_web::{HomeNetwork, Https, Listeners, OwnAddresses, Padlock, Patience, Places, serve};

const ANOTHER: &str = "192.168.1.77:7317";

/// A computer whose numbers and clock are set.
struct Computer {
    numbers: Arc<Mutex<Vec<IpAddr>>>,
    time: Arc<Mutex<Timestamp>>,
}

impl Computer {
    fn at(number: &str) -> Self {
        let numbers = Arc::new(Mutex::new(vec![number.parse().unwrap()]));
        Self { numbers, time: Arc::new(Mutex::new(Timestamp::now())) }
    }

    fn own(&self) -> Arc<OwnAddresses> {
        let (numbers, time) = (Arc::clone(&self.numbers), Arc::clone(&self.time));
        let ask = move || numbers.lock().unwrap().clone();
        Arc::new(OwnAddresses::new(ask, Arc::new(move || *time.lock().unwrap())))
    }

    fn moves_to(&self, numbers: &[&str]) {
        *self.numbers.lock().unwrap() = numbers.iter().map(|n| n.parse().unwrap()).collect();
    }

    fn pass_seconds(&self, seconds: i64) {
        *self.time.lock().unwrap() += SignedDuration::from_secs(seconds);
    }
}

/// What is shown, and to where a link leads, over http and over https.
async fn shown(breeder: &mut Browser) -> (String, String) {
    let page = breeder.get("/household").await.text;
    let link = breeder.post("/household", "/household/phone", &[("name", "Tom"), ("role", "carer")]).await.text;
    (page, link)
}

#[tokio::test]
async fn what_is_shown_and_what_links_hold_goes_with_the_address() {
    let computer = Computer::at("192.168.1.5");
    let own = computer.own();
    let at_port = |scheme, port| Places { scheme, port, numbers: Arc::clone(&own), names: vec![] };
    let folder = tempfile::tempdir().unwrap();
    let https = Https::open(folder.path(), Arc::clone(&own), vec![], Timestamp::now()).unwrap();
    let padlock = Padlock { places: at_port("https", 7318), https: Arc::new(https), is_for_all: false };
    let network = HomeNetwork::new(at_port("http", 7317), Some(padlock));
    let house = House::with(|home| home.over_home_network(network)).await;
    let mut ann = phone(&house, "Ann", Role::Breeder).await;
    let (page, link) = shown(&mut ann).await;
    assert!(page.contains("http://192.168.1.5:7317/") && page.contains("https://192.168.1.5:7318/"), "{page}");
    assert!(link.contains("http://192.168.1.5:7317/j/"), "{link}");

    // One beside it is on the internet: no browser takes the household's certificate there.
    computer.moves_to(&["192.168.1.77", "203.0.113.9"]);
    computer.pass_seconds(30);
    let (page, link) = shown(&mut ann).await;
    assert!(page.contains("http://192.168.1.77:7317/") && page.contains("https://192.168.1.77:7318/"), "{page}");
    assert!(page.contains("http://203.0.113.9:7317/") && !page.contains("https://203.0.113.9"), "{page}");
    assert!(link.contains("http://192.168.1.77:7317/j/"), "{link}");
    assert!(!page.contains("192.168.1.5") && !link.contains("192.168.1.5"));
    let door = Browser::at(&house.router, PHONE).get("/padlock").await.text;
    assert!(door.contains("https://192.168.1.77:7318/") && !door.contains("192.168.1.5"), "{door}");

    // On no network: said, and no link is made that leads nowhere.
    computer.moves_to(&[]);
    computer.pass_seconds(30);
    let page = ann.get("/household").await.text;
    assert!(page.contains("no address on a home network now") && !page.contains("192.168.1."), "{page}");
    let answer = ann.post("/household", "/household/phone", &[("name", "Ida"), ("role", "carer")]).await;
    assert_eq!(answer.status, StatusCode::UNPROCESSABLE_ENTITY);
    assert!(answer.text.contains("no address on a home network now") && !answer.text.contains("/j/"));
}

#[tokio::test]
async fn it_is_answered_at_the_address_that_it_has_and_not_under_that_of_before() {
    let house = House::over_network(AT).await;
    let mut tom = phone(&house, "Tom", Role::Carer).await;
    assert_eq!(tom.get("/who").await.status, StatusCode::OK);
    // The system takes a connection at an address of this computer only, so the one of before is asked for no more
    // except by name.
    tom.at = ANOTHER.into();
    assert_eq!(tom.get("/who").await.status, StatusCode::OK);
    for former in [AT, "evil.test:7317", "192.168.1.77:7318", "192.168.1.77"] {
        let request = Request::get("/who").header(header::HOST, former).body(Body::empty()).unwrap();
        assert_eq!(tom.send(request).await.status, StatusCode::MISDIRECTED_REQUEST, "{former}");
    }
}

/// Every address of 127/8 is this computer's on Linux; so the test stays on it.
#[cfg(target_os = "linux")]
#[tokio::test]
async fn a_connection_at_an_unknown_address_is_enough_to_look() {
    let listener = |at| tokio::net::TcpListener::bind(at);
    let (plain, secure) = (listener("127.0.0.2:0").await.unwrap(), listener("127.0.0.3:0").await.unwrap());
    let (plain_at, secure_at) = (plain.local_addr().unwrap(), secure.local_addr().unwrap());
    let computer = Computer::at("192.168.1.5");
    let own = computer.own();
    let folder = tempfile::tempdir().unwrap();
    let https = Arc::new(Https::open(folder.path(), Arc::clone(&own), vec![], Timestamp::now()).unwrap());
    let at_port = |scheme, port| Places { scheme, port, numbers: Arc::clone(&own), names: vec![] };
    let places = at_port("https", secure_at.port());
    let padlock = Padlock { places, https: Arc::clone(&https), is_for_all: false };
    let network = HomeNetwork::new(at_port("http", plain_at.port()), Some(padlock));
    let house = House::with(|home| home.over_home_network(network)).await;
    let (end, ended) = tokio::sync::oneshot::channel::<()>();
    let listeners = Listeners { plain, secure: Some((secure, Arc::clone(&https))) };
    let served = tokio::spawn(serve(Arc::clone(&house.home), listeners, Patience::default(), async {
        let _ = ended.await;
    }));
    // From here on the clock stands: only the connection itself says that something has changed.
    computer.moves_to(&["127.0.0.2"]);
    let mut stream = tokio::net::TcpStream::connect(plain_at).await.unwrap();
    let ask = format!("GET /padlock HTTP/1.1\r\nHost: {plain_at}\r\nConnection: close\r\n\r\n");
    stream.write_all(ask.as_bytes()).await.unwrap();
    let mut page = String::new();
    stream.read_to_string(&mut page).await.unwrap();
    assert!(page.contains(&format!("https://127.0.0.2:{}/", secure_at.port())), "{page}");

    computer.moves_to(&["127.0.0.3"]);
    let authority = https.authority().unwrap().der().to_vec();
    assert_eq!(greeted(secure_at, "127.0.0.3", authority.clone()).await, Ok(()));
    let former = greeted(secure_at, "127.0.0.2", authority).await.unwrap_err();
    assert!(former.contains("not valid for name"), "{former}");
    end.send(()).unwrap();
    served.await.unwrap().unwrap();
}

/// What a client that trusts this authority says of a connection that it believes to be to `name`.
async fn greeted(at: SocketAddr, name: &str, authority: Vec<u8>) -> Result<(), String> {
    let mut roots = rustls::RootCertStore::empty();
    roots.add(authority.into()).unwrap();
    let client = rustls::ClientConfig::builder_with_provider(Arc::new(rustls::crypto::ring::default_provider()))
        .with_safe_default_protocol_versions()
        .unwrap()
        .with_root_certificates(roots)
        .with_no_client_auth();
    let stream = tokio::net::TcpStream::connect(at).await.unwrap();
    let name = name.to_owned().try_into().unwrap();
    let outcome = tokio_rustls::TlsConnector::from(Arc::new(client)).connect(name, stream).await;
    outcome.map(|_| ()).map_err(|e| e.to_string())
}
