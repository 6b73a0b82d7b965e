//! Facts that a phone made itself: sent once or often, taken or kept aside, looked at by one tap.

mod support;

use axum::body::Body;
use axum::http::{Request, StatusCode, header};
use serde_json::{Value, json};
use support::{AT, Answer, Browser, HOST, House, REPLACER, between, phone, pup_id};
use whelpward_app::access::Role;

/// An id of version 7 whose last part is a number.
fn id(number: u32) -> String {
    format!("01a1e000-0000-7000-8000-{number:012}")
}

struct Setting {
    house: House,
    at: String,
    litter: String,
    ash: String,
    birch: String,
}

impl Setting {
    async fn new() -> Self {
        let mut house = House::new().await;
        let at = house.litter(&[("Ash", "180"), ("Birch", "186")]).await;
        let page = house.page(&format!("{at}/now")).await;
        let (ash, birch) = (pup_id(&page, "Ash"), pup_id(&page, "Birch"));
        let litter = at.rsplit('/').next().unwrap().to_owned();
        Self { house, at, litter, ash, birch }
    }

    fn weighing(&self, number: u32, pup: &str, grams: &str, at: &str) -> Value {
        self.fact(number, "weighing", Some(pup), at, &json!({ "weighed_at": at, "weight": grams, "unit": "g" }))
    }

    fn fact(&self, number: u32, kind: &str, pup: Option<&str>, at: &str, body: &Value) -> Value {
        let mut fact = json!({ "id": id(number), "litter": self.litter, "kind": kind, "body": body,
            "occurred_at": at, "zone": "Europe/Berlin", "device": "phone" });
        if let Some(pup) = pup {
            fact["pup"] = pup.into();
        }
        fact
    }

    async fn send(&mut self, method: &str, path: &str, body: &str, token: Option<&str>) -> (StatusCode, Value) {
        let known = self.house.token().await;
        let request = Request::builder()
            .method(method)
            .uri(path)
            .header(header::HOST, HOST)
            .header(header::ORIGIN, format!("http://{HOST}"))
            .header(header::CONTENT_TYPE, "application/json")
            .header("whelpward-token", token.unwrap_or(&known))
            .body(Body::from(body.to_owned()))
            .unwrap();
        let Answer { status, text, .. } = self.house.send(request).await;
        (status, serde_json::from_str(&text).unwrap_or(Value::String(text)))
    }

    async fn put(&mut self, fact: &Value) -> (StatusCode, Value) {
        let path = format!("/api/v1/events/{}", fact["id"].as_str().unwrap());
        self.send("PUT", &path, &fact.to_string(), None).await
    }

    async fn tap(&mut self, facts: &[Value], shown: Value) -> Value {
        let events: Vec<Value> = facts.iter().map(|fact| json!({ "fact": fact })).collect();
        let body = json!({ "events": events, "shown": shown }).to_string();
        let (status, answer) = self.send("POST", "/api/v1/tap", &body, None).await;
        assert_eq!(status, StatusCode::OK, "{answer}");
        answer
    }

    async fn entries(&mut self, grams: &str) -> usize {
        let page = self.house.page(&format!("{}/pup/{}", self.at, self.ash)).await;
        page.replace('\u{a0}', " ").matches(&format!("{grams} g")).count()
    }
}

#[tokio::test]
async fn the_same_fact_again_is_the_same_and_another_with_its_id_is_kept_for_a_person() {
    let mut s = Setting::new().await;
    let fact = s.weighing(1, &s.ash.clone(), "183", "2026-11-25T19:58:00Z");
    let (status, saved) = s.put(&fact).await;
    assert_eq!((status, &saved["result"]), (StatusCode::OK, &json!("saved")), "{saved}");
    assert_eq!(saved["fact"]["body"], fact["body"], "the stored copy");
    assert!(saved["fact"]["receipt"]["seq"].as_i64().unwrap() > 0);
    assert_eq!(saved["server_now_ms"], 1_795_636_800_000_i64, "2026-11-25T20:00Z");
    let shown = s.entries("183").await;
    let (status, again) = s.put(&fact).await;
    assert_eq!((status, &again["result"]), (StatusCode::OK, &json!("already_there")));
    assert_eq!(again["fact"], saved["fact"]);
    assert_eq!(s.entries("183").await, shown, "nothing came twice");

    let mut other = fact.clone();
    other["body"]["weight"] = "193".into();
    let (status, kept) = s.put(&other).await;
    assert_eq!((status, &kept["result"]), (StatusCode::CONFLICT, &json!("kept_aside")), "{kept}");
    assert_eq!(s.entries("193").await, 0);
    // A person sees it, and writes it down as an entry of its own.
    let now = s.house.page(&format!("{}/now", s.at)).await;
    assert!(now.contains("1 entry waits for you"), "{now}");
    let aside = s.house.page(&format!("{}/aside", s.at)).await;
    assert!(aside.contains("193 g"), "{aside}");
    let seq = between(&aside, "name=\"seq\" value=\"", "\"").to_owned();
    let path = format!("{}/aside", s.at);
    let after = s.house.saved(&path, &[("seq", &seq), ("as", "own")]).await;
    assert!(after.contains("Nothing waits."), "{after}");
    assert!(s.entries("193").await > 0 && s.entries("183").await > 0, "both are there");
    assert_eq!(s.house.post(&path, &[("seq", &seq), ("as", "own")]).await.status, StatusCode::UNPROCESSABLE_ENTITY);
}

#[tokio::test]
async fn of_a_batch_each_entry_has_its_own_answer() {
    let mut s = Setting::new().await;
    let (ash, birch) = (s.ash.clone(), s.birch.clone());
    let mut elsewhere = s.weighing(4, &ash, "181", "2026-11-25T19:57:00Z");
    elsewhere["litter"] = id(99).into();
    let wrong_kind = s.fact(5, "litter", None, "2026-11-25T19:57:00Z", &json!({ "name": "Other" }));
    let facts = [
        s.weighing(1, &ash, "183", "2026-11-25T19:58:00Z"),
        s.weighing(2, &birch, "5 kg", "2026-11-25T19:58:00Z"),
        s.weighing(3, &birch, "189", "2026-11-25T19:59:00Z"),
        elsewhere,
        wrong_kind,
    ];
    let events: Vec<Value> = facts.iter().map(|fact| json!({ "fact": fact })).collect();
    let (status, answer) = s.send("POST", "/api/v1/events", &json!({ "events": events }).to_string(), None).await;
    assert_eq!(status, StatusCode::OK);
    let results: Vec<&str> =
        answer["results"].as_array().unwrap().iter().map(|r| r["result"].as_str().unwrap()).collect();
    assert_eq!(results, ["saved", "saved", "saved", "no_such_litter", "kept_aside"], "{answer}");
    let now = s.house.page(&format!("{}/now", s.at)).await;
    assert!(now.contains("An entry does not count"), "what does not fit the others is in the book, and shown: {now}");

    // The same entry twice in one request: each place has its answer, and so has the one behind them.
    let twice = s.weighing(6, &ash, "184", "2026-11-25T19:59:30Z");
    let behind = s.fact(7, "litter", None, "2026-11-25T19:57:00Z", &json!({ "name": "Other" }));
    let events: Vec<Value> = [&twice, &twice, &behind].iter().map(|fact| json!({ "fact": fact })).collect();
    let (_, answer) = s.send("POST", "/api/v1/events", &json!({ "events": events }).to_string(), None).await;
    let results: Vec<&str> =
        answer["results"].as_array().unwrap().iter().map(|r| r["result"].as_str().unwrap_or("none")).collect();
    assert_eq!(results, ["saved", "already_there", "kept_aside"], "{answer}");

    let many: Vec<Value> =
        (0..101).map(|i| json!({ "fact": s.weighing(100 + i, &ash, "183", "2026-11-25T19:58:00Z") })).collect();
    let (status, answer) = s.send("POST", "/api/v1/events", &json!({ "events": many }).to_string(), None).await;
    assert_eq!(status, StatusCode::PAYLOAD_TOO_LARGE, "{answer}");
}

#[tokio::test]
async fn nothing_is_taken_without_the_token_and_nothing_that_does_not_read() {
    let mut s = Setting::new().await;
    let fact = s.weighing(1, &s.ash.clone(), "183", "2026-11-25T19:58:00Z");
    let path = format!("/api/v1/events/{}", id(1));
    for (method, path, body) in [
        ("PUT", path.as_str(), fact.to_string()),
        ("POST", "/api/v1/events", json!({ "events": [{ "fact": fact }] }).to_string()),
        ("POST", "/api/v1/tap", json!({ "events": [{ "fact": fact }] }).to_string()),
    ] {
        let (status, answer) = s.send(method, path, &body, Some("0123")).await;
        assert_eq!(status, StatusCode::FORBIDDEN, "{answer}");
        let (status, answer) = s.send(method, path, "{}", None).await;
        assert_eq!(status, StatusCode::UNPROCESSABLE_ENTITY, "{answer}");
    }
    let (status, _) = s.send("PUT", &format!("/api/v1/events/{}", id(2)), &fact.to_string(), None).await;
    assert_eq!(status, StatusCode::BAD_REQUEST, "another id in the address");
    let large = format!("{{\"events\": [], \"x\": \"{}\"}}", "a".repeat(300 * 1024));
    let (status, _) = s.send("POST", "/api/v1/events", &large, None).await;
    assert_eq!(status, StatusCode::PAYLOAD_TOO_LARGE);
    assert_eq!(s.entries("183").await, 0);
}

#[tokio::test]
async fn a_wrong_clock_is_set_right_and_the_far_future_is_asked_about() {
    let mut s = Setting::new().await;
    let ash = s.ash.clone();
    let fast = s.weighing(1, &ash, "183", "2026-11-25T20:06:00Z");
    let path = format!("/api/v1/events/{}?ahead_ms=420000&age_wall_ms=90000&age_steady_ms=1000", id(1));
    let (status, saved) = s.send("PUT", &path, &fast.to_string(), None).await;
    assert_eq!(status, StatusCode::OK, "{saved}");
    assert_eq!(saved["fact"]["occurred_at"], "2026-11-25T19:59:00Z");
    assert_eq!(saved["fact"]["receipt"]["client_wall_at"], "2026-11-25T20:06:00Z");
    assert_eq!(saved["fact"]["receipt"]["is_time_uncertain"], true, "its two clocks differ by 89 s");
    // Sent again with another age, as a phone does later: the same fact.
    let path = format!("/api/v1/events/{}?ahead_ms=420000", id(1));
    assert_eq!(s.send("PUT", &path, &fast.to_string(), None).await.1["result"], "already_there");

    // Its page was loaded anew, so that only the wall clock tells: it was 7 min fast, and is right as it sends.
    let jumped = s.weighing(4, &ash, "185", "2026-11-25T20:05:00Z");
    let path = format!("/api/v1/events/{}?ahead_ms=420000&sent_wall_ms=1795636800000", id(4));
    let (_, saved) = s.send("PUT", &path, &jumped.to_string(), None).await;
    assert_eq!(saved["fact"]["occurred_at"], "2026-11-25T19:58:00Z");
    assert_eq!(saved["fact"]["receipt"]["is_time_uncertain"], true, "{saved}");
    // Sent again by a clock that is fast again: the same fact, and its mark stays.
    let path = format!("/api/v1/events/{}?ahead_ms=420000&sent_wall_ms=1795637220000", id(4));
    let (_, again) = s.send("PUT", &path, &jumped.to_string(), None).await;
    assert_eq!((&again["result"], &again["fact"]), (&json!("already_there"), &saved["fact"]));
    let steady = s.weighing(5, &ash, "186", "2026-11-25T20:06:30Z");
    let event = json!({ "fact": steady, "clocks": { "ahead_ms": 420_000, "sent_wall_ms": 1_795_637_220_000_i64 } });
    let (_, saved) = s.send("POST", "/api/v1/events", &json!({ "events": [event] }).to_string(), None).await;
    assert_eq!(saved["results"][0]["fact"]["receipt"]["is_time_uncertain"], false, "as fast as before: {saved}");

    let future = s.weighing(2, &ash, "184", "2026-11-25T20:06:00Z");
    let (status, kept) = s.put(&future).await;
    assert_eq!((status, &kept["result"]), (StatusCode::ACCEPTED, &json!("kept_aside")), "{kept}");
    let aside = s.house.page(&format!("{}/aside", s.at)).await;
    assert!(aside.contains("in the future") && aside.contains("It happened when it arrived, 21:00"), "{aside}");
    let seq = between(&aside, "name=\"seq\" value=\"", "\"").to_owned();
    let path = format!("{}/aside", s.at);
    s.house.saved(&path, &[("seq", &seq), ("as", "arrived")]).await;
    assert!(s.entries("184").await > 0);

    let late = s.weighing(3, &ash, "179", "2026-11-25T07:59:00Z");
    let (_, saved) = s.put(&late).await;
    assert_eq!(saved["fact"]["receipt"]["is_late"], true, "twelve hours late");
}

#[tokio::test]
async fn a_late_entry_and_an_uncertain_time_say_so_wherever_they_are_read() {
    let mut s = Setting::new().await;
    let ash = s.ash.clone();
    let uncertain = s.weighing(1, &ash, "183", "2026-11-25T19:59:00Z");
    let path = format!("/api/v1/events/{}?age_wall_ms=90000&age_steady_ms=1000", id(1));
    assert_eq!(s.send("PUT", &path, &uncertain.to_string(), None).await.0, StatusCode::OK);
    let plain = s.weighing(3, &ash, "184", "2026-11-25T20:00:00Z");
    assert_eq!(s.put(&plain).await.0, StatusCode::OK);
    s.house.pass_minutes(13 * 60);
    let strong = json!({ "checked_at": "2026-11-25T20:05:00Z", "kind": "suck", "value": "strong" });
    let late = s.fact(2, "check", Some(&ash), "2026-11-25T20:05:00Z", &strong);
    let (status, saved) = s.put(&late).await;
    assert_eq!(status, StatusCode::OK, "{saved}");

    let at = s.at.clone();
    let list = s.house.page(&format!("{at}/pup/{ash}")).await;
    let line = |number: u32| between(between(&list, &format!("/entry/{}\">", id(number)), "</li>"), "", "<").to_owned();
    assert!(line(1).ends_with(" · time uncertain"), "{}", line(1));
    assert!(line(2).ends_with(" · written down late"), "{}", line(2));
    assert!(!line(3).contains("uncertain") && !line(3).contains("late"), "{}", line(3));

    let page = s.house.page(&format!("{at}/entry/{}", id(1))).await;
    assert!(page.contains("Its time is uncertain") && !page.contains("Written down late"), "{page}");
    let page = s.house.page(&format!("{at}/entry/{}", id(2))).await;
    assert!(page.contains("Written down late: 12 hours or more") && page.contains("into the book 10:00."), "{page}");
    assert!(!page.contains("Its time is uncertain"), "{page}");
    let page = s.house.page(&format!("{at}/entry/{}", id(3))).await;
    assert!(!page.contains("Its time is uncertain") && !page.contains("Written down late"), "{page}");

    let print = s.house.page(&format!("{at}/vet?pup={ash}")).await;
    assert_eq!(print.matches("20:59 (time uncertain)").count(), 1, "{print}");
    assert!(print.contains("21:05 (written down late)"), "{print}");
    assert!(print.contains("21:00</th>"), "{print}");

    // Another weight for it, thirteen hours later: its time is as uncertain as before, and as early.
    s.house.saved(&format!("{at}/entry/{}", id(1)), &[("weight", "182")]).await;
    let list = s.house.page(&format!("{at}/pup/{ash}")).await;
    let corrected = between(&list, "182 g", "</a>");
    assert!(corrected.ends_with(" · time uncertain"), "{corrected}");
}

#[tokio::test]
async fn what_is_dated_before_the_birth_is_refused_at_a_tap_and_never_missing_where_it_was_kept() {
    let mut s = Setting::new().await;
    let (ash, birch, before) = (s.ash.clone(), s.birch.clone(), "2026-11-24T08:00:00Z");
    let gums = json!({ "checked_at": before, "kind": "gums", "value": "pale" });
    let facts = [s.fact(1, "check", Some(&ash), before, &gums), s.weighing(2, &ash, "171", before)];
    for fact in &facts {
        // As a form would: nothing is saved, and why is said.
        let answer = s.tap(std::slice::from_ref(fact), Value::Null).await;
        assert_eq!(answer["result"], "refused", "{answer}");
        assert!(answer["allowed"].as_str().unwrap().contains("not before this pup's birth"), "{answer}");
    }
    let page = s.house.page(&format!("{}/now", s.at)).await;
    assert!(!page.contains("An entry does not count"), "{page}");

    // From the outbox it happened already: the book keeps it, and says wherever it matters that it does not count.
    for fact in &facts {
        assert_eq!(s.put(fact).await.1["result"], "saved");
    }
    let page = s.house.page(&format!("{}/now", s.at)).await;
    assert_eq!(page.matches("An entry does not count").count(), 2, "{page}");
    let print = s.house.page(&format!("{}/vet?pup={ash}", s.at)).await.replace('\u{a0}', " ");
    let unknown = between(&print, "What is not known", "</ul>");
    for held in ["Gums: pale", "171 g"] {
        let held = format!("24 Nov 2026, 09:00: {held}. This entry does not count");
        assert!(unknown.contains(&held), "{held}: {unknown}");
    }
    assert!(unknown.contains("a time not before this pup's birth, 2026-11-25T20:00:00+01:00."), "{unknown}");
    let print = s.house.page(&format!("{}/vet?pup={birch}", s.at)).await;
    assert!(!print.contains("does not count"), "another pup's page");
}

#[tokio::test]
async fn one_tap_is_looked_at_before_it_is_saved() {
    let mut s = Setting::new().await;
    let ash = s.ash.clone();
    let slip = s.weighing(1, &ash, "83", "2026-11-25T19:59:00Z");
    let answer = s.tap(&[slip], Value::Null).await;
    assert_eq!(answer["result"], "asked", "{answer}");
    assert_eq!(s.entries("83").await, 0, "nothing is saved");
    let right = s.weighing(2, &ash, "183", "2026-11-25T19:59:00Z");
    let answer = s.tap(std::slice::from_ref(&right), Value::Null).await;
    assert_eq!((&answer["result"], &answer["kinds"]), (&json!("saved"), &json!(["weighing"])), "{answer}");
    let bar = s.house.page(&format!("{}/now?saved={}", s.at, answer["saved"].as_str().unwrap())).await;
    assert!(bar.contains("Ash: 183\u{a0}g"), "read back");
    assert_eq!(s.tap(&[right], Value::Null).await["result"], "saved", "an answer that was lost");
    let unreadable = s.weighing(3, &ash, "1.2.3", "2026-11-25T19:59:00Z");
    assert_eq!(s.tap(&[unreadable], Value::Null).await["result"], "refused");
}

#[tokio::test]
async fn a_feed_as_planned_is_the_amount_that_stood_on_the_button() {
    let mut house = House::new().await;
    let at = house.litter(&[("Ash", "180")]).await;
    house.pass_minutes(26 * 60);
    house.saved(&format!("{at}/milk"), &REPLACER).await;
    house.saved(&format!("{at}/check"), &[("pup", ""), ("pups_with_dam", "no")]).await;
    let pup = pup_id(&house.page(&format!("{at}/now")).await, "Ash");
    house
        .saved(&format!("{at}/weigh"), &[("pup", &pup), ("weight", "182"), ("unit", "g"), ("taken", "before_feed")])
        .await;
    for (kind, value) in [("palate", "whole"), ("suck", "strong"), ("rectal_temperature_c", "36.2")] {
        house.saved(&format!("{at}/check"), &[("pup", &pup), (kind, value)]).await;
    }
    let page = house.page(&format!("{at}/feed?pup={pup}")).await;
    let shown = between(&page, "name=\"shown\" value=\"", "\"").to_owned();
    let other = format!("{:.1}", shown.parse::<f64>().unwrap() - 0.5);
    // The plan has changed since the button was drawn: nothing is saved before a person says so.
    let fields = |amount: &str| {
        [("pup", pup.clone()), ("what", "planned".into()), ("shown", amount.to_owned()), ("method", "bottle".into())]
    };
    let old = fields(&other);
    let old: Vec<(&str, &str)> = old.iter().map(|(k, v)| (*k, v.as_str())).collect();
    let asked = house.post(&format!("{at}/feed"), &old).await;
    assert_eq!(asked.status, StatusCode::CONFLICT);
    assert!(asked.text.replace('\u{a0}', " ").contains(&format!("the button said {other} mL")), "{}", asked.text);
    let kept: Vec<(&str, &str)> = old.iter().copied().chain([("kept", "yes")]).collect();
    let saved = house.saved(&format!("{at}/feed"), &kept).await;
    assert!(
        saved.contains(&format!("Ash: {other}\u{a0}mL by bottle")),
        "what was given is what is written down: {saved}"
    );
}

#[tokio::test]
async fn what_a_helper_fed_past_a_gate_while_the_program_was_away_counts_when_a_carer_says_so() {
    // A gate is closed for a pup that no plan feeds by hand, too.
    for is_planned in [true, false] {
        feed_past_a_gate(is_planned).await;
    }
}

async fn feed_past_a_gate(is_planned: bool) {
    let house = House::over_network(AT).await;
    let mut ann = phone(&house, "Ann", Role::Breeder).await;
    let litter = [("name", "Clover"), ("breed", "Maltese"), ("scale_step_g", "1"), ("time_zone", "Europe/Berlin")];
    let at = ann.post("/new", "/new", &litter).await.location().strip_suffix("/now").unwrap().to_owned();
    let pup = [("name", "Sedge"), ("sex", "female"), ("coat", "white"), ("colour", "red"), ("pattern", "dots")];
    let pup: Vec<_> = pup.into_iter().chain([("weight", "150"), ("unit", "g"), ("at", "20:00")]).collect();
    let of = |page: &str| format!("{at}/{page}");
    assert_eq!(ann.post(&of("birth"), &of("birth"), &pup).await.status, StatusCode::SEE_OTHER);
    for name in ["Tom", "Lena"] {
        let carer = [("what", "carer"), ("name", name)];
        assert_eq!(ann.post(&of("settings"), &of("settings"), &carer).await.status, StatusCode::SEE_OTHER);
    }
    let sedge = pup_id(&ann.get(&of("litter")).await.text, "Sedge");
    if is_planned {
        assert_eq!(ann.post(&of("milk"), &of("milk"), &REPLACER).await.status, StatusCode::SEE_OTHER);
        let alone = [("pup", ""), ("pups_with_dam", "no")];
        assert_eq!(ann.post(&of("check"), &of("check"), &alone).await.status, StatusCode::SEE_OTHER);
    }
    let cold = [("pup", sedge.as_str()), ("rectal_temperature_c", "33.5")];
    assert_eq!(ann.post(&of("check"), &of("check"), &cold).await.status, StatusCode::SEE_OTHER);
    let mut lena = phone(&house, "Lena", Role::Helper).await;
    let mut tom = phone(&house, "Tom", Role::Carer).await;

    // The program was away; the phone sends what it kept when it is back.
    let fed_at = house.now().to_string();
    house.pass_minutes(5);
    let fact = json!({ "id": id(1), "litter": at.rsplit('/').next().unwrap(), "kind": "feed", "pup": sedge,
        "body": { "fed_at": fed_at, "method": "bottle", "taken_ml": "2.5" },
        "occurred_at": fed_at, "zone": "Europe/Berlin", "carer": "Lena", "device": "phone" });
    let page = lena.get(&of("weigh")).await.text;
    let token = between(&page, "name=\"token\" value=\"", "\"").to_owned();
    let put = |body: &Value| {
        Request::put(format!("/api/v1/events/{}", id(1)))
            .header(header::HOST, AT)
            .header(header::ORIGIN, format!("http://{AT}"))
            .header("whelpward-token", &token)
            .body(Body::from(body.to_string()))
            .unwrap()
    };
    for _ in 0..2 {
        // Sent again after a lost answer, it waits once.
        let answer = lena.send(put(&fact)).await;
        assert_eq!(answer.status, StatusCode::ACCEPTED, "{}", answer.text);
        assert!(answer.text.contains("\"kept_aside\""), "{}", answer.text);
    }
    let shown = async |who: &mut Browser, page: &str| who.get(&of(page)).await.text.replace('\u{a0}', " ");
    let is_told = async |who: &mut Browser| shown(who, &format!("pup/{sedge}")).await.contains("2.5 mL");
    assert!(!is_told(&mut tom).await, "it is no feed yet");
    let ahead: Value = serde_json::from_str(&shown(&mut tom, "ahead").await).unwrap();
    assert!(!ahead.to_string().contains("2.5"), "nor for an open page: {ahead}");
    assert!(shown(&mut tom, "now").await.contains("1 entry waits for you"));
    let audit = house.store.audit_before(i64::MAX, 500).await.unwrap();
    let line = audit.iter().find(|l| l.entry.what == "refused-gate-aside").expect("a line of the audit");
    assert!(line.entry.detail.contains("Sedge") && line.entry.detail.contains("2.5 mL"), "{}", line.entry.detail);
    assert_eq!(line.entry.carer, "Lena");
    let audit = ann.get("/household/audit?only=doors").await.text;
    assert!(audit.contains("Kept aside, a helper fed although no milk may be given"), "{audit}");

    // The helper does not decide; a carer does, and from then on it counts.
    let seq = between(&shown(&mut tom, "aside").await, "name=\"seq\" value=\"", "\"").to_owned();
    let settle = [("seq", seq.as_str()), ("as", "own")];
    assert_eq!(lena.post(&of("weigh"), &of("aside"), &settle).await.status, StatusCode::FORBIDDEN);
    assert!(!is_told(&mut tom).await);
    assert_eq!(tom.post(&of("aside"), &of("aside"), &settle).await.status, StatusCode::SEE_OTHER);
    assert!(is_told(&mut tom).await, "now it is a feed");
    assert!(shown(&mut tom, "aside").await.contains("Nothing waits."));
}
