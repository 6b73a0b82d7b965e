//! The pages under load, with 100,000 facts in the book: requests per second and the slowest of
//! 100, beside a bare page of the same server library in the same run; start to first page; memory.
//!
//! `cargo bench -p whelpward --bench serve` prints the figures; no test asserts one.
//! `WHELPWARD_BENCH_SECONDS` is how long each line is measured, 10 when not set.

use std::io::{BufRead as _, BufReader, Read as _, Write as _};
use std::net::{SocketAddr, TcpStream};
use std::process::{Child, Command, Stdio};
use std::time::{Duration, Instant};

use jiff::{SignedDuration, Timestamp};
use serde_json::Value;
use whelpward_core::book::{Fact, FactId, Kind, Receipt};
use whelpward_store::Store;

const LITTERS: u32 = 10;
const PUPS: u32 = 10;
const DAYS: u32 = 60;
/// With the litters and pups themselves a little over 100,000.
const OF_A_PUP_AND_DAY: u32 = 17;
/// As many phones as a household has.
const CONNECTIONS: usize = 4;

fn born() -> Timestamp {
    "2026-01-01T00:00:00Z".parse().expect("a time")
}

/// The last entry is of the last minutes of the last day.
fn now() -> Timestamp {
    born() + SignedDuration::from_hours(i64::from(DAYS) * 24)
}

struct Maker(u32);

impl Maker {
    fn fact(&mut self, litter: Option<FactId>, kind: Kind, pup: Option<FactId>, at: Timestamp, body: Value) -> Fact {
        self.0 += 1;
        let id = FactId::from_parts(born() + SignedDuration::from_secs(i64::from(self.0)), u128::from(self.0));
        let Value::Object(body) = body else { unreachable!("always an object") };
        Fact {
            id,
            litter: litter.unwrap_or(id),
            kind,
            pup,
            body: body.into_iter().collect(),
            occurred: at,
            zone: "Europe/Berlin".into(),
            carer: None,
            device: "bench".into(),
            supersedes: None,
            voids: None,
            receipt: Receipt::default(),
        }
    }
}

/// An invented litter: each pup gains steadily, is weighed, fed and checked all day.
fn litter(make: &mut Maker, nth: u32) -> Vec<Fact> {
    use serde_json::json;
    let b = born();
    let litter = make.fact(
        None,
        Kind::Litter,
        None,
        b,
        json!({ "name": format!("Invented {nth}"), "expected_adult_weight_kg": 20, "whelped_at": b.to_string(),
                "time_zone": "Europe/Berlin", "scale_step_g": 1 }),
    );
    let id = Some(litter.id);
    let mut facts = vec![litter];
    let milk = json!({ "id": "m", "kind": "puppy_ready", "in_use": true, "kcal_per_ml": 1.1 });
    facts.push(make.fact(id, Kind::Milk, None, b, milk));
    let pups: Vec<FactId> = (0..PUPS)
        .map(|p| {
            let body = json!({ "id": format!("p{p}"), "sex": "female", "marks": format!("collar {p}"),
                               "born_at": b.to_string(), "birth_weight": "350", "unit": "g" });
            facts.push(make.fact(id, Kind::Pup, None, b, body));
            facts[facts.len() - 1].id
        })
        .collect();
    for entry in 1..=DAYS * OF_A_PUP_AND_DAY {
        let minutes = i64::from(entry) * 24 * 60 / i64::from(OF_A_PUP_AND_DAY) - 20;
        let grams = 350 + minutes * 30 / 1440;
        for (p, pup) in (0_i64..).zip(&pups) {
            let at = b + SignedDuration::from_mins(minutes + p);
            let when = at.to_string();
            let (kind, body) = match entry % 3 {
                0 => (
                    Kind::Weighing,
                    json!({ "weighed_at": when, "weight": grams.to_string(), "unit": "g", "taken": "before_feed" }),
                ),
                1 => (
                    Kind::Feed,
                    json!({ "fed_at": when, "method": "bottle", "taken_ml": (grams / 50).to_string(), "milk": "m" }),
                ),
                _ => (Kind::Check, json!({ "checked_at": when, "kind": "rectal_temperature_c", "value": "37.2" })),
            };
            facts.push(make.fact(id, kind, Some(*pup), at, body));
        }
    }
    facts
}

async fn book(path: &std::path::Path) -> (FactId, FactId, i64) {
    let store = Store::open_sqlite(path).await.expect("an empty book");
    let mut make = Maker(0);
    let mut ids = None;
    for nth in 0..LITTERS {
        let facts = litter(&mut make, nth);
        ids = Some((facts[0].id, facts[2].id));
        store.append(&facts, now()).await.expect("room on the disk");
    }
    let count = store.count().await.expect("a book");
    store.close().await;
    let (litter, pup) = ids.expect("a litter");
    (litter, pup, count)
}

/// One way to a server, kept open, as a browser does.
struct Way {
    stream: BufReader<TcpStream>,
    host: SocketAddr,
    cookie: String,
}

struct Answer {
    status: u16,
    cookie: Option<String>,
    body: String,
}

impl Way {
    fn open(host: SocketAddr) -> std::io::Result<Self> {
        let stream = TcpStream::connect(host)?;
        stream.set_nodelay(true)?;
        Ok(Self { stream: BufReader::new(stream), host, cookie: String::new() })
    }

    fn ask(&mut self, method: &str, path: &str, form: &str) -> Answer {
        let host = self.host;
        let text = format!(
            "{method} {path} HTTP/1.1\r\nHost: {host}\r\nOrigin: http://{host}\r\nCookie: {}\r\n\
             Content-Type: application/x-www-form-urlencoded\r\nContent-Length: {}\r\n\r\n{form}",
            self.cookie,
            form.len()
        );
        self.stream.get_mut().write_all(text.as_bytes()).expect("a server");
        let mut line = String::new();
        let mut next = |stream: &mut BufReader<TcpStream>| {
            line.clear();
            stream.read_line(&mut line).expect("an answer");
            line.trim_end().to_owned()
        };
        let first = next(&mut self.stream);
        let status = first.split(' ').nth(1).and_then(|s| s.parse().ok()).expect("a status");
        let (mut length, mut cookie) = (None, None);
        loop {
            let header = next(&mut self.stream);
            if header.is_empty() {
                break;
            }
            let (name, value) = header.split_once(": ").unwrap_or((&header, ""));
            match name.to_lowercase().as_str() {
                "content-length" => length = value.parse::<usize>().ok(),
                "set-cookie" => cookie = value.split(';').next().map(str::to_owned),
                _ => {}
            }
        }
        let mut body = Vec::new();
        if let Some(length) = length {
            body.resize(length, 0);
            self.stream.read_exact(&mut body).expect("the whole answer");
        } else {
            loop {
                let size = usize::from_str_radix(&next(&mut self.stream), 16).expect("a chunk");
                let start = body.len();
                body.resize(start + size, 0);
                self.stream.read_exact(&mut body[start..]).expect("the whole chunk");
                next(&mut self.stream);
                if size == 0 {
                    break;
                }
            }
        }
        Answer { status, cookie, body: String::from_utf8_lossy(&body).into_owned() }
    }
}

/// Asks on several ways at once for some seconds.
fn load(name: &str, host: SocketAddr, connections: usize, ask: impl Fn(&mut Way, usize) -> u16 + Sync) {
    let seconds = std::env::var("WHELPWARD_BENCH_SECONDS").ok().and_then(|s| s.parse().ok()).unwrap_or(10);
    let until = Instant::now() + Duration::from_secs(seconds);
    let began = Instant::now();
    let mut times: Vec<Duration> = std::thread::scope(|scope| {
        let ways: Vec<_> = (0..connections)
            .map(|which| {
                let ask = &ask;
                scope.spawn(move || {
                    let mut way = Way::open(host).expect("a server");
                    let mut times = Vec::new();
                    while Instant::now() < until {
                        let start = Instant::now();
                        let status = ask(&mut way, which * 1_000_000 + times.len());
                        assert!(matches!(status, 200 | 303), "answered with {status}");
                        times.push(start.elapsed());
                    }
                    times
                })
            })
            .collect();
        ways.into_iter().flat_map(|w| w.join().expect("no panic")).collect()
    });
    let took = began.elapsed().as_secs_f64();
    times.sort();
    let ms = |percent: usize| times[(times.len() - 1) * percent / 100].as_secs_f64() * 1000.0;
    #[expect(clippy::cast_precision_loss, reason = "a count of requests")]
    let rate = times.len() as f64 / took;
    println!("{name:34} {rate:10.1} {:9.2} {:9.2} {:9.2} {:8}", ms(50), ms(95), ms(99), times.len());
}

fn serve(folder: &std::path::Path) -> (Child, SocketAddr, Instant) {
    let began = Instant::now();
    let mut child = Command::new(env!("CARGO_BIN_EXE_whelpward"))
        .args(["serve", "--port", "0", "--starts-at", &now().to_string()])
        .env("WHELPWARD_DATA", folder)
        .env_remove("WHELPWARD_DATABASE")
        .stdout(Stdio::piped())
        .spawn()
        .expect("the program");
    let mut line = String::new();
    BufReader::new(child.stdout.as_mut().expect("its output")).read_line(&mut line).expect("its address");
    let address = line.split("http://").nth(1).and_then(|a| a.split('/').next()).expect("an address");
    (child, address.parse().expect("an address"), began)
}

/// Memory of a process, MB: now, and at most.
fn memory(child: &Child) -> String {
    let text = std::fs::read_to_string(format!("/proc/{}/status", child.id())).unwrap_or_default();
    let mb = |name: &str| {
        let line = text.lines().find_map(|l| l.strip_prefix(name)).unwrap_or_default();
        line.split_whitespace().find_map(|w| w.parse::<u64>().ok()).unwrap_or(0) / 1024
    };
    format!("{} MB now, {} MB at most", mb("VmRSS:"), mb("VmHWM:"))
}

fn main() {
    let runtime = tokio::runtime::Builder::new_multi_thread().worker_threads(2).enable_all().build().expect("threads");
    let folder = tempfile::tempdir().expect("a folder");
    let (litter, pup, count) = runtime.block_on(book(&folder.path().join("book.sqlite")));
    println!("{count} facts in {LITTERS} litters of {PUPS} pups over {DAYS} days");

    let ms = |began: Instant| began.elapsed().as_secs_f64() * 1000.0;
    let (mut child, host, began) = serve(folder.path());
    let mut way = Way::open(host).expect("a server");
    assert_eq!(way.ask("GET", "/", "").status, 200);
    println!("start to the first page: {:.0} ms; memory {}", ms(began), memory(&child));
    let at = format!("/litter/{litter}");
    let asked = Instant::now();
    assert_eq!(way.ask("GET", &format!("{at}/now"), "").status, 200);
    println!("the first time that a litter's page is asked for: {:.0} ms", ms(asked));
    // The copy of the book that is due at the start would stand in the way.
    while !folder.path().join("copies").read_dir().is_ok_and(|files| files.count() >= 2) {
        std::thread::sleep(Duration::from_millis(200));
    }

    let listener = runtime.block_on(tokio::net::TcpListener::bind("127.0.0.1:0")).expect("a port");
    let bare = listener.local_addr().expect("a port");
    let hello = axum::Router::new().route("/", axum::routing::get(|| async { "hello" }));
    runtime.spawn(async { axum::serve(listener, hello).await });

    println!("\n{:34} {:>10} {:>9} {:>9} {:>9} {:>8}", "", "per second", "p50 ms", "p95 ms", "p99 ms", "requests");
    for connections in [1, CONNECTIONS] {
        let name = |what: &str| format!("{what}, {connections} at once");
        load(&name("a bare page of the same library"), bare, connections, |way, _| way.ask("GET", "/", "").status);
        load(&name("style sheet"), host, connections, |way, _| way.ask("GET", "/assets/0/style.css", "").status);
        load(&name("now"), host, connections, |way, _| way.ask("GET", &format!("{at}/now"), "").status);
        load(&name("weighing round"), host, connections, |way, _| {
            way.ask("GET", &format!("{at}/weigh?pup={pup}"), "").status
        });
        load(&name("saving a weight"), host, connections, |way, nth| {
            if way.cookie.is_empty() {
                way.cookie = way.ask("GET", "/new", "").cookie.expect("a cookie");
                let page = way.ask("GET", "/new", "").body;
                let token = page.split("name=\"token\" value=\"").nth(1).and_then(|t| t.split('"').next());
                way.cookie = format!("{}; token={}", way.cookie, token.expect("a token"));
            }
            let token = way.cookie.rsplit('=').next().expect("a token").to_owned();
            let form = format!("token={token}&pup={pup}&weight={}&unit=g&kept=yes", 2150 + nth % 2);
            way.ask("POST", &format!("{at}/weigh"), &form).status
        });
    }
    println!("\nmemory {}", memory(&child));
    child.kill().and_then(|()| child.wait()).expect("it ends");
}
