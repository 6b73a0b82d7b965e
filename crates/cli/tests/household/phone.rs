//! The program as a process, a phone that speaks to it over one plain connection at a time, and the
//! facts that the phones make.

use std::io::{BufRead as _, BufReader, Read as _, Write as _};
use std::net::{Shutdown, TcpStream};
use std::path::Path;
use std::process::{Child, Command, Stdio};
use std::time::Duration;

use jiff::{SignedDuration, Timestamp};
use whelpward_app::{Birth, Book, Register, Who, find, record_birth, register_litter};
use whelpward_core::book::{FactId, FactJson, Kind, Values};
use whelpward_store::Store;

/// The program's time when it starts.
pub const STARTS: &str = "2026-11-25T20:00:00Z";
/// Far longer than an answer takes; nothing asserts a time.
const PATIENCE: Duration = Duration::from_secs(30);

pub fn time(text: &str) -> Timestamp {
    text.parse().unwrap()
}

/// Numbers that look random, the same for a seed.
pub struct Dice(u64);

impl Dice {
    pub fn new(seed: u64) -> Self {
        Self(seed ^ 0x9E37_79B9_7F4A_7C15)
    }

    pub fn below(&mut self, limit: u64) -> u64 {
        // SplitMix64 (public domain).
        self.0 = self.0.wrapping_add(0x9E37_79B9_7F4A_7C15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
        (z ^ (z >> 31)) % limit
    }

    pub fn shuffle<T>(&mut self, list: &mut [T]) {
        for i in (1..list.len()).rev() {
            list.swap(i, usize::try_from(self.below(i as u64 + 1)).unwrap());
        }
    }
}

/// A litter of three pups in a new book, two days and a half old when the program starts.
pub async fn new_book(folder: &Path) -> (FactId, Vec<FactId>) {
    new_book_of(folder, &["Ash", "Birch", "Cedar"], time("2026-11-23T08:00Z")).await
}

/// A litter of these pups in a new book.
pub async fn new_book_of(folder: &Path, names: &[&str], born: Timestamp) -> (FactId, Vec<FactId>) {
    let book = Book::new(Store::open_sqlite(&folder.join("book.sqlite")).await.unwrap());
    let who = Who { carer: None, device: "setting".into() };
    let words = [("name", "Clover"), ("time_zone", "UTC"), ("scale_step_g", "1"), ("expected_adult_weight_kg", "12")];
    let litter: Values = words.into_iter().map(|(k, v)| (k.to_owned(), v.into())).collect();
    register_litter(&book, &who, Register { litter, ..Register::default() }, born).await.unwrap();
    let litter = find(&book, None).await.unwrap().id;
    for name in names {
        let birth = Birth {
            litter,
            name: (*name).into(),
            sex: "female".into(),
            marks: "plain".into(),
            born_at: born,
            weight: Some("310".into()),
            unit: "g".into(),
            is_stillborn: false,
            is_premature: false,
        };
        record_birth(&book, &who, birth, born).await.unwrap();
    }
    let pups = book.load(litter).await.unwrap().folded.pups.iter().map(|(id, _)| *id).collect();
    book.store.close().await;
    (litter, pups)
}

/// All that the facts of a litter come to, as text, and each fact without its receipt. What the
/// program itself wrote down as advice is left out: it depends on when pages were looked at.
pub async fn projection(folder: &Path, litter: FactId) -> String {
    let book = Book::new(Store::open_sqlite(&folder.join("book.sqlite")).await.unwrap());
    let loaded = book.load(litter).await.unwrap();
    let folded = &loaded.folded;
    let mut facts: Vec<String> = loaded
        .all
        .iter()
        .filter(|f| f.kind != Kind::Advice && f.device != "setting")
        .map(|f| format!("{} {}", f.id, f.content()))
        .collect();
    facts.sort();
    // The two books were begun apart, so the ids of their litters and pups differ: by name.
    let mut text = format!("{:#?}\n{:?}\n{}", folded.facts, folded.questions, facts.join("\n"));
    for (id, name) in &folded.pups {
        text = text.replace(&id.to_string(), name).replace(&format!("{id:?}"), name);
    }
    book.store.close().await;
    text.replace(&litter.to_string(), "LITTER")
}

/// The facts of one phone: weights, feeds, checks and claims at their own times.
pub fn facts_of(phone: u64, count: u64, litter: FactId, pups: &[FactId]) -> Vec<FactJson> {
    let began = time("2026-11-24T06:00Z");
    (0..count)
        .map(|i| {
            let at = began + SignedDuration::from_secs(i64::try_from((i * 7 + phone) * 60).unwrap());
            let pup = pups[usize::try_from((i + phone) % pups.len() as u64).unwrap()].to_string();
            let (kind, time_key, body) = match i % 4 {
                0 => ("weighing", "weighed_at", vec![("weight", (312 + i / 8).to_string()), ("unit", "g".into())]),
                1 => ("feed", "fed_at", vec![("method", "bottle".into()), ("taken_ml", "5.5".into())]),
                2 => ("check", "checked_at", vec![("kind", "suck".into()), ("value", "strong".into())]),
                _ => ("claim", "claimed_at", vec![("round_at", at.to_string())]),
            };
            let mut body: Values = body.into_iter().map(|(k, v)| (k.to_owned(), v.into())).collect();
            body.insert(time_key.into(), at.to_string().into());
            let id = FactId::from_parts(at, u128::from(phone) << 64 | u128::from(i));
            let pup = (kind != "claim").then_some(pup);
            made(phone, id, litter, kind, pup, body, at)
        })
        .collect()
}

/// A fact as a phone makes it.
pub fn made(
    phone: u64,
    id: FactId,
    litter: FactId,
    kind: &str,
    pup: Option<String>,
    body: Values,
    at: Timestamp,
) -> FactJson {
    FactJson {
        id: id.to_string(),
        litter: litter.to_string(),
        kind: kind.into(),
        pup,
        body: body.into_iter().collect(),
        occurred_at: at.to_string(),
        zone: "UTC".into(),
        carer: None,
        device: format!("phone {phone}"),
        supersedes: None,
        voids: None,
        receipt: None,
    }
}

/// The program, serving a folder.
pub struct Program {
    child: Child,
    pub port: u16,
}

impl Program {
    pub fn start(folder: &Path) -> Self {
        let mut child = Command::new(env!("CARGO_BIN_EXE_whelpward"))
            .args(["serve", "--port", "0", "--starts-at", STARTS, "--data"])
            .arg(folder)
            .env("WHELPWARD_DATABASE", "")
            .stdout(Stdio::piped())
            .stderr(Stdio::null())
            .spawn()
            .unwrap();
        let mut said = String::new();
        let mut out = BufReader::new(child.stdout.take().unwrap());
        while !said.contains("http://127.0.0.1:") {
            assert_ne!(out.read_line(&mut said).unwrap(), 0, "the program ended: {said}");
        }
        let port = said.split("http://127.0.0.1:").nth(1).unwrap().split('/').next().unwrap().parse().unwrap();
        Self { child, port }
    }

    pub fn id(&self) -> u32 {
        self.child.id()
    }

    /// Ends it as a cut of the power does.
    pub fn kill(&mut self) {
        self.child.kill().unwrap();
        self.child.wait().unwrap();
    }
}

impl Drop for Program {
    fn drop(&mut self) {
        // It may have been ended already.
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}

/// How far a request gets before the way is cut.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Until {
    /// Half of it is sent.
    Half,
    /// All of it is sent, and nobody waits for the answer.
    Sent,
    Answered,
}

/// One phone with the cookie and the token of its browser.
pub struct Phone {
    port: u16,
    cookie: String,
    token: String,
}

impl Phone {
    /// Opens a page, as a browser does first.
    pub fn new(port: u16) -> Self {
        let nobody = Self { port, cookie: String::new(), token: String::new() };
        let (_, head, page) = nobody.request("GET", "/new", "", Until::Answered).expect("a page");
        let set = head.lines().find_map(|l| l.strip_prefix("set-cookie: ")).expect("a cookie");
        let cookie = set.split(';').next().unwrap().into();
        let token = page.split("name=\"token\" value=\"").nth(1).unwrap().split('"').next().unwrap().into();
        Self { port, cookie, token }
    }

    /// The same phone on another port, where the program was started again.
    pub fn moved(&self, port: u16) -> Self {
        Self { port, cookie: self.cookie.clone(), token: self.token.clone() }
    }

    pub fn get(&self, path: &str) -> Option<(u16, String)> {
        self.request("GET", path, "", Until::Answered).map(|(status, _, body)| (status, body))
    }

    pub fn put(&self, fact: &FactJson, until: Until) -> Option<(u16, String)> {
        let body = serde_json::to_string(fact).unwrap();
        let path = format!("/api/v1/events/{}", fact.id);
        self.request("PUT", &path, &body, until).map(|(status, _, body)| (status, body))
    }

    pub fn batch(&self, facts: &[&FactJson], until: Until) -> Option<(u16, String)> {
        let events: Vec<_> = facts.iter().map(|fact| serde_json::json!({ "fact": fact })).collect();
        let body = serde_json::json!({ "events": events }).to_string();
        self.request("POST", "/api/v1/events", &body, until).map(|(status, _, body)| (status, body))
    }

    fn request(&self, method: &str, path: &str, body: &str, until: Until) -> Option<(u16, String, String)> {
        let Self { port, cookie, token } = self;
        let mut way = TcpStream::connect(("127.0.0.1", *port)).ok()?;
        way.set_read_timeout(Some(PATIENCE)).ok()?;
        let text = format!(
            "{method} {path} HTTP/1.1\r\nHost: 127.0.0.1:{port}\r\nOrigin: http://127.0.0.1:{port}\r\n\
             Cookie: {cookie}\r\nwhelpward-token: {token}\r\nContent-Type: application/json\r\n\
             Content-Length: {}\r\nConnection: close\r\n\r\n{body}",
            body.len()
        );
        let end = if until == Until::Half { text.len() - body.len() / 2 - 1 } else { text.len() };
        way.write_all(&text.as_bytes()[..end]).ok()?;
        if until != Until::Answered {
            // It may have been closed from the other side.
            let _ = way.shutdown(Shutdown::Write);
            return None;
        }
        let mut answer = String::new();
        way.read_to_string(&mut answer).ok()?;
        let (head, body) = answer.split_once("\r\n\r\n")?;
        let status = head.split(' ').nth(1)?.parse().ok()?;
        Some((status, head.to_ascii_lowercase(), body.to_owned()))
    }
}
