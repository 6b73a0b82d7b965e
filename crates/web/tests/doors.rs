//! Nobody is let in who does not belong: each try is refused and stands in the audit.
//! No test opens the pages beyond this computer; where somebody comes from is made up.

mod support;

use std::sync::Arc;
use std::time::Duration;

use axum::body::Body;
use axum::http::{Method, Request, StatusCode, header};
use support::{AT, Browser, House, PHONE, REPLACER, between, phone, post, pup_id};
use tokio::io::{AsyncReadExt as _, AsyncWriteExt as _};
use whelpward_app::access::{self, By, Role};
use whelpward_core::book::Kind;
use whelpward_web::{Patience, ROUTES};

const PASSWORD: &str = "four plain words here";

/// A house on the network, with the password set.
async fn house() -> House {
    let house = House::over_network(AT).await;
    let store = &house.store;
    access::set_password(store, &By::default(), PASSWORD.into(), None, house.now()).await.unwrap();
    house
}

/// A litter of the household with one pup, and the pup's id.
async fn litter(house: &House) -> (String, String) {
    let mut breeder = phone(house, "Ann", Role::Breeder).await;
    let fields = [("name", "Clover"), ("breed", "Maltese"), ("scale_step_g", "1"), ("time_zone", "Europe/Berlin")];
    let answer = breeder.post("/new", "/new", &fields).await;
    let at = answer.location().strip_suffix("/now").unwrap().to_owned();
    let born = [
        ("name", "Sedge"),
        ("sex", "female"),
        ("coat", "white"),
        ("colour", "red"),
        ("pattern", "dots"),
        ("weight", "150"),
        ("unit", "g"),
        ("at", "20:00"),
    ];
    let page = format!("{at}/birth");
    assert_eq!(breeder.post(&page, &page, &born).await.status, StatusCode::SEE_OTHER);
    let pup = pup_id(&breeder.get(&format!("{at}/litter")).await.text, "Sedge");
    for name in ["Ann", "Tom", "Lena"] {
        let page = format!("{at}/settings");
        let answer = breeder.post(&page, &page, &[("what", "carer"), ("name", name)]).await;
        assert_eq!(answer.status, StatusCode::SEE_OTHER, "{}", answer.text);
    }
    (at, pup)
}

/// What the audit says of refusals, the newest first.
async fn refusals(house: &House) -> Vec<(String, String)> {
    let lines = house.store.audit_before(i64::MAX, 500).await.unwrap();
    lines.into_iter().filter(|l| l.entry.what.starts_with("refused-")).map(|l| (l.entry.what, l.entry.detail)).collect()
}

async fn last_refusal(house: &House) -> String {
    refusals(house).await.first().map(|r| r.0.clone()).unwrap_or_default()
}

/// What was written into the book; a refused try must not change it. Advice is written while a page is shown.
async fn facts(house: &House) -> usize {
    house.store.page_before(i64::MAX, Kind::Advice, 10_000).await.unwrap().len()
}

#[tokio::test]
async fn without_having_signed_in_nothing_is_shown_and_nothing_taken() {
    let house = house().await;
    let (at, pup) = litter(&house).await;
    let before = facts(&house).await;
    for route in ROUTES {
        let path = route.path.replace("/{shelf}/{litter}", &at).replace("{pup}", &pup).replace("{entry}", &pup);
        let path = path.replace("{hash}", "0").replace("{name}", "style.css").replace("{token}", "0123");
        // Each from an address of its own, so that none of them is refused for asking too often.
        let number = ROUTES.iter().position(|r| std::ptr::eq(r, route)).unwrap();
        let mut guest = Browser::at(&house.router, &format!("192.168.2.{}:50000", number % 250 + 1));
        let method = Method::from_bytes(route.method.to_uppercase().as_bytes()).unwrap();
        let request = Request::builder()
            .method(method)
            .uri(&path)
            .header(header::HOST, AT)
            .header(header::ORIGIN, format!("http://{AT}"))
            .header(header::CONTENT_TYPE, "application/x-www-form-urlencoded")
            .body(Body::empty())
            .unwrap();
        let answer = guest.send(request).await;
        let is_open = ["/assets/", "/healthz", "/sign-in", "/j/", "/v/", "/api/v1/time", "/padlock", "/worker.js"]
            .iter()
            .any(|open| path.starts_with(open));
        let is_sent_to_the_door =
            answer.status == StatusCode::SEE_OTHER && answer.location() == "/sign-in" && route.method == "get";
        assert!(
            is_open || is_sent_to_the_door || answer.status == StatusCode::UNAUTHORIZED,
            "{} {path}: {}",
            route.method,
            answer.status
        );
        assert!(!answer.text.contains("Sedge") && !answer.text.contains("Clover"), "{path}");
    }
    assert_eq!(facts(&house).await, before);
}

#[tokio::test]
async fn a_session_that_somebody_chose_beforehand_opens_nothing() {
    let house = house().await;
    let chosen = "0123456789abcdef0123456789abcdef0123456789abcdef0123456789abcdef";
    let mut browser = Browser::at(&house.router, PHONE);
    browser.cookies.insert("whelpward_session".into(), chosen.into());
    browser.cookies.insert("whelpward_browser".into(), chosen[..32].into());
    assert_eq!(browser.get("/").await.location(), "/sign-in");
    assert_eq!(last_refusal(&house).await, "refused-signed-out");
    let answer = browser.post("/sign-in", "/sign-in", &[("password", PASSWORD)]).await;
    assert_eq!(answer.status, StatusCode::SEE_OTHER, "{}", answer.text);
    assert_ne!(browser.session().unwrap(), chosen, "the session is made anew");
    assert_eq!(browser.get("/").await.status, StatusCode::OK);
    let cookie = answer.headers.get_all(header::SET_COOKIE).iter().map(|c| c.to_str().unwrap());
    let cookie = cookie.filter(|c| c.starts_with("whelpward_session=")).collect::<Vec<_>>();
    assert!(cookie.len() == 1 && cookie[0].contains("HttpOnly") && cookie[0].contains("SameSite=Lax"), "{cookie:?}");
    // The chosen one still opens nothing.
    let mut other = Browser::at(&house.router, PHONE);
    other.cookies.insert("whelpward_session".into(), chosen.into());
    assert_eq!(other.get("/").await.location(), "/sign-in");
}

#[tokio::test]
async fn a_form_from_another_page_or_with_another_token_saves_nothing() {
    let house = house().await;
    let (at, pup) = litter(&house).await;
    let mut tom = phone(&house, "Tom", Role::Carer).await;
    let mut lena = phone(&house, "Lena", Role::Helper).await;
    let before = facts(&house).await;
    let path = format!("{at}/weigh");
    let theirs = lena.get(&path).await.text;
    let theirs = between(&theirs, "name=\"token\" value=\"", "\"").to_owned();
    let ours = tom.get(&path).await.text;
    let ours = between(&ours, "name=\"token\" value=\"", "\"").to_owned();
    let weight = [("pup", pup.as_str()), ("weight", "152"), ("unit", "g")];
    let with = |token: &str| {
        [&[("token", token)], &weight[..]]
            .concat()
            .into_iter()
            .map(|(n, v)| (n.to_owned(), v.to_owned()))
            .collect::<Vec<_>>()
    };
    let here = format!("http://{AT}");
    for (token, origin, word) in [
        ("", Some(here.as_str()), "refused-token"),
        ("0123456789abcdef", Some(here.as_str()), "refused-token"),
        // Another phone's, forged or replayed.
        (theirs.as_str(), Some(here.as_str()), "refused-token"),
        (ours.as_str(), Some("http://elsewhere.test"), "refused-origin"),
        (ours.as_str(), Some("http://192.168.1.5:8080"), "refused-origin"),
        (ours.as_str(), Some("null"), "refused-origin"),
        (ours.as_str(), None, "refused-origin"),
    ] {
        let fields = with(token);
        let fields: Vec<(&str, &str)> = fields.iter().map(|(n, v)| (n.as_str(), v.as_str())).collect();
        let answer = tom.send(post(&path, AT, origin, &fields)).await;
        assert_eq!(answer.status, StatusCode::FORBIDDEN, "{token} {origin:?}");
        assert_eq!(last_refusal(&house).await, word, "{token} {origin:?}");
    }
    assert_eq!(facts(&house).await, before);
    let fields = with(&ours);
    let fields: Vec<(&str, &str)> = fields.iter().map(|(n, v)| (n.as_str(), v.as_str())).collect();
    assert_eq!(tom.send(post(&path, AT, Some(&here), &fields)).await.status, StatusCode::SEE_OTHER);
    assert_eq!(facts(&house).await, before + 1);
}

#[tokio::test]
async fn a_name_that_was_pointed_here_is_not_answered() {
    let house = house().await;
    let mut tom = phone(&house, "Tom", Role::Carer).await;
    for host in ["evil.test:7317", "evil.test", "192.168.1.6:7317", "192.168.1.5", "", "192.168.1.5:7317.evil.test"] {
        let request = Request::get("/").header(header::HOST, host).body(Body::empty()).unwrap();
        assert_eq!(tom.send(request).await.status, StatusCode::MISDIRECTED_REQUEST, "{host}");
        assert_eq!(last_refusal(&house).await, "refused-host");
    }
    let request = Request::get("/").body(Body::empty()).unwrap();
    assert_eq!(tom.send(request).await.status, StatusCode::MISDIRECTED_REQUEST);
    assert_eq!(tom.get("/").await.status, StatusCode::OK);
}

#[tokio::test]
async fn somebody_from_outside_the_home_is_not_answered_even_with_a_session() {
    let house = house().await;
    let mut tom = phone(&house, "Tom", Role::Carer).await;
    for foreign in ["203.0.113.9:40000", "[2001:db8::1]:40000", "100.128.0.1:40000"] {
        tom.peer = foreign.parse().unwrap();
        for path in ["/", "/sign-in", "/healthz"] {
            assert_eq!(tom.get(path).await.status, StatusCode::FORBIDDEN, "{foreign} {path}");
            assert_eq!(last_refusal(&house).await, "refused-foreign");
        }
    }
    // Nobody at all: the ends of the connection are not known.
    let request = Request::get("/").header(header::HOST, AT).body(Body::empty()).unwrap();
    let answer = support::send(&house.router, &mut tom.cookies.clone(), request).await;
    assert!(answer.status.is_client_error(), "{}", answer.status);
    for home in ["127.0.0.1:40000", "10.1.2.3:40000", "100.64.0.9:40000", "[fd00::7]:40000", "[fe80::7]:40000"] {
        tom.peer = home.parse().unwrap();
        assert_eq!(tom.get("/").await.status, StatusCode::OK, "{home}");
    }
}

#[tokio::test]
async fn crooked_paths_and_bodies_too_large_are_refused() {
    let house = house().await;
    let (at, _) = litter(&house).await;
    let mut tom = phone(&house, "Tom", Role::Carer).await;
    for path in [
        "/assets/0/../../../etc/passwd",
        "/assets/0/%2e%2e%2f%2e%2e%2fbook.sqlite",
        "/assets/..%5c..%5csecret",
        "/litter/../secret",
        "//secret",
    ] {
        assert_eq!(tom.get(path).await.status, StatusCode::NOT_FOUND, "{path}");
        assert_eq!(last_refusal(&house).await, "refused-path", "{path}");
    }
    let before = facts(&house).await;
    let path = format!("{at}/weigh");
    let page = tom.get(&path).await.text;
    let token = between(&page, "name=\"token\" value=\"", "\"").to_owned();
    let large = "x".repeat(256 * 1024);
    let fields = [("token", token.as_str()), ("note", large.as_str())];
    let here = format!("http://{AT}");
    assert_eq!(tom.send(post(&path, AT, Some(&here), &fields)).await.status, StatusCode::PAYLOAD_TOO_LARGE);
    assert_eq!(last_refusal(&house).await, "refused-too-large");
    // One that says beforehand how large it is is not read at all.
    let mut request = post(&path, AT, Some(&here), &fields[..1]);
    request.headers_mut().insert(header::CONTENT_LENGTH, "10000000".parse().unwrap());
    assert_eq!(tom.send(request).await.status, StatusCode::PAYLOAD_TOO_LARGE);
    assert_eq!(facts(&house).await, before);
}

#[tokio::test]
async fn a_link_lets_one_phone_in_once_and_looking_at_it_spends_nothing() {
    let house = house().await;
    let link = access::phone_link(&house.store, &By::default(), "Tom", Role::Carer, house.now()).await.unwrap();
    let path = format!("/j/{link}");
    let mut preview = Browser::at(&house.router, "192.168.1.40:50000");
    for _ in 0..3 {
        let page = preview.get(&path).await;
        assert!(page.text.contains("You are joining as Tom on this phone"), "{}", page.text);
        assert!(preview.session().is_none());
    }
    let mut tom = Browser::at(&house.router, PHONE);
    assert_eq!(tom.post(&path, &path, &[]).await.status, StatusCode::SEE_OTHER);
    let answer = preview.post("/sign-in", &path, &[]).await;
    assert_eq!(answer.status, StatusCode::GONE);
    assert!(preview.session().is_none());
    assert_eq!(last_refusal(&house).await, "refused-link");
    assert_eq!(preview.get(&path).await.status, StatusCode::GONE);

    let late = access::phone_link(&house.store, &By::default(), "Lena", Role::Helper, house.now()).await.unwrap();
    house.pass_minutes(10);
    assert_eq!(preview.get(&format!("/j/{late}")).await.status, StatusCode::GONE);
    assert_eq!(preview.post("/sign-in", &format!("/j/{late}"), &[]).await.status, StatusCode::GONE);
    assert_eq!(last_refusal(&house).await, "refused-link");
    // Made-up ones: ten a minute, and then nothing is looked at.
    let mut guesser = Browser::at(&house.router, "192.168.1.66:50000");
    let mut statuses = Vec::new();
    for n in 0..12 {
        statuses.push(guesser.get(&format!("/j/{n:032x}")).await.status);
    }
    assert!(statuses[..10].iter().all(|s| *s == StatusCode::GONE), "{statuses:?}");
    assert!(statuses[10..].iter().all(|s| *s == StatusCode::TOO_MANY_REQUESTS), "{statuses:?}");
    assert_eq!(last_refusal(&house).await, "refused-too-fast");
    for (_, detail) in refusals(&house).await {
        assert!(!detail.contains(&link) && !detail.contains(&late), "a token in the audit: {detail}");
    }
}

#[tokio::test]
async fn five_wrong_pins_close_the_way_for_a_minute_also_for_the_right_one() {
    let house = house().await;
    phone(&house, "Tom", Role::Carer).await;
    access::set_pin(&house.store, &By::default(), "Tom", "2468", "", house.now()).await.unwrap();
    let mut lena = phone(&house, "Lena", Role::Helper).await;
    for _ in 0..5 {
        let answer = lena.post("/who", "/who", &[("name", "Tom"), ("pin", "1111")]).await;
        assert_eq!(answer.status, StatusCode::FORBIDDEN);
        assert_eq!(last_refusal(&house).await, "refused-secret");
    }
    let right = [("name", "Tom"), ("pin", "2468"), ("back", "/who")];
    let answer = lena.post("/who", "/who", &right).await;
    assert_eq!(answer.status, StatusCode::FORBIDDEN);
    assert!(answer.text.contains("Try again in 60"), "{}", answer.text);
    house.pass_minutes(1);
    assert_eq!(lena.post("/who", "/who", &right).await.status, StatusCode::SEE_OTHER);
    // And the password of the household in the same way.
    let mut guest = Browser::at(&house.router, "192.168.1.67:50000");
    for _ in 0..5 {
        assert_eq!(
            guest.post("/sign-in", "/sign-in", &[("password", "guessed it")]).await.status,
            StatusCode::FORBIDDEN
        );
    }
    let answer = guest.post("/sign-in", "/sign-in", &[("password", PASSWORD)]).await;
    assert_eq!(answer.status, StatusCode::FORBIDDEN);
    assert!(guest.session().is_none());
}

#[tokio::test]
async fn a_helper_passes_no_gate_overrides_no_question_and_changes_nothing_of_others() {
    let house = house().await;
    let (at, pup) = litter(&house).await;
    let mut tom = phone(&house, "Tom", Role::Carer).await;
    let mut lena = phone(&house, "Lena", Role::Helper).await;
    let (weigh, feed, check) = (format!("{at}/weigh"), format!("{at}/feed"), format!("{at}/check"));
    // The pup is too cold to be fed; no plan feeds it yet.
    let cold = [("pup", pup.as_str()), ("rectal_temperature_c", "33.5")];
    assert_eq!(lena.post(&check, &check, &cold).await.status, StatusCode::SEE_OTHER, "a helper writes checks");
    let fed = [("pup", pup.as_str()), ("what", "other"), ("taken_ml", "2"), ("method", "bottle")];
    assert_eq!(lena.post(&weigh, &feed, &fed).await.status, StatusCode::FORBIDDEN);
    assert_eq!(last_refusal(&house).await, "refused-gate");
    // From now on it is fed by hand.
    let mut breeder = phone(&house, "Ann", Role::Breeder).await;
    let milk = format!("{at}/milk");
    assert_eq!(breeder.post(&milk, &milk, &REPLACER).await.status, StatusCode::SEE_OTHER);
    let alone = [("pup", ""), ("pups_with_dam", "no")];
    assert_eq!(breeder.post(&check, &check, &alone).await.status, StatusCode::SEE_OTHER);

    let before = facts(&house).await;
    let answer = lena.post(&feed, &feed, &fed).await;
    assert_eq!(answer.status, StatusCode::FORBIDDEN, "{}", answer.text);
    assert!(answer.text.contains("No milk now"), "{}", answer.text);
    let (word, detail) = refusals(&house).await.remove(0);
    assert_eq!(word, "refused-gate");
    assert!(detail.contains("Sedge") && detail.contains("2 mL"), "what was tried is kept: {detail}");
    let planned = [("pup", pup.as_str()), ("what", "planned")];
    assert_eq!(lena.post(&feed, &feed, &planned).await.status, StatusCode::FORBIDDEN);
    assert_eq!(facts(&house).await, before);
    // What really happened can be written down, by somebody who decides.
    assert_eq!(tom.post(&feed, &feed, &fed).await.status, StatusCode::SEE_OTHER);

    // A doubtful number: nobody's word, but the same weight twice.
    let slip = [("pup", pup.as_str()), ("weight", "1500"), ("unit", "g")];
    let asked = lena.post(&weigh, &weigh, &slip).await;
    assert_eq!(asked.status, StatusCode::CONFLICT);
    assert!(!asked.text.contains("name=\"kept\""), "no button to keep it: {}", asked.text);
    let before = facts(&house).await;
    let kept = [&slip[..], &[("kept", "yes")]].concat();
    assert_eq!(lena.post(&weigh, &weigh, &kept).await.status, StatusCode::FORBIDDEN);
    assert_eq!(last_refusal(&house).await, "refused-role");
    assert_eq!(facts(&house).await, before);
    let low = [("pup", pup.as_str()), ("weight", "90"), ("unit", "g")];
    let asked = lena.post(&weigh, &weigh, &low).await;
    assert_eq!(asked.status, StatusCode::CONFLICT, "{}", asked.text);
    let again = format!(
        "{at}/{}",
        between(&asked.text, "class=\"button primary save\" href=\"", "\"")
            .rsplit('/')
            .next()
            .unwrap()
            .replace("&amp;", "&")
    );
    let twice = [&low[..], &[("first", "90")]].concat();
    let page = lena.get(&again).await.text;
    assert!(page.contains("name=\"first\" value=\"90\""), "{page}");
    assert_eq!(lena.post(&again, &weigh, &twice).await.status, StatusCode::SEE_OTHER);

    // Births, settings, answers, others' entries, the household: not a helper's.
    let entry = between(&tom.get(&format!("{at}/pup/{pup}")).await.text, "/entry/", "\"").to_owned();
    for (path, fields) in [
        (format!("{at}/birth"), vec![("name", "Yarrow")]),
        (format!("{at}/settings"), vec![("what", "carer"), ("name", "Mallory")]),
        (format!("{at}/answer"), vec![("answer", "same")]),
        (format!("{at}/entry/{entry}"), vec![("weight", "1")]),
        (format!("{at}/pup/{pup}/left"), vec![("why", "died")]),
        ("/new".into(), vec![("name", "Other")]),
        ("/household/phone".into(), vec![("name", "Mallory"), ("role", "breeder")]),
        ("/household/person".into(), vec![("name", "Lena"), ("role", "breeder")]),
    ] {
        let before = facts(&house).await;
        let answer = lena.post("/who", &path, &fields).await;
        assert_eq!(answer.status, StatusCode::FORBIDDEN, "{path}");
        assert_eq!(last_refusal(&house).await, "refused-role", "{path}");
        assert_eq!(facts(&house).await, before, "{path}");
    }
    assert_eq!(lena.get("/household").await.status, StatusCode::FORBIDDEN);
    assert_eq!(lena.get("/household/audit").await.status, StatusCode::FORBIDDEN);
}

#[tokio::test]
async fn a_carer_changes_own_entries_for_a_day_and_no_others() {
    let house = house().await;
    let (at, pup) = litter(&house).await;
    let mut tom = phone(&house, "Tom", Role::Carer).await;
    let mut lena = phone(&house, "Lena", Role::Helper).await;
    let weigh = format!("{at}/weigh");
    let saved = async |who: &mut Browser, grams: &str| {
        let answer = who.post("/who", &weigh, &[("pup", &pup), ("weight", grams), ("unit", "g")]).await;
        between(&format!("{}&", answer.location()), "saved=", "&").to_owned()
    };
    let own = saved(&mut tom, "152").await;
    house.pass_minutes(1);
    let others = saved(&mut lena, "153").await;
    let correct = async |who: &mut Browser, entry: &str| {
        let path = format!("{at}/entry/{entry}");
        who.post("/who", &path, &[("weight", "151")]).await.status
    };
    assert_eq!(correct(&mut tom, &own).await, StatusCode::SEE_OTHER);
    assert_eq!(correct(&mut tom, &others).await, StatusCode::FORBIDDEN);
    assert_eq!(last_refusal(&house).await, "refused-role");
    let take_back = async |who: &mut Browser, entry: &str| {
        who.post("/who", &format!("{at}/undo"), &[("entry", entry), ("back", "/")]).await.status
    };
    assert_eq!(take_back(&mut tom, &others).await, StatusCode::FORBIDDEN);
    assert_eq!(take_back(&mut lena, &own).await, StatusCode::FORBIDDEN);
    assert_eq!(take_back(&mut lena, &others).await, StatusCode::SEE_OTHER, "a slip that is seen at once");
    house.pass_minutes(24 * 60 + 1);
    assert_eq!(correct(&mut tom, &own).await, StatusCode::FORBIDDEN);
    let mut breeder = phone(&house, "Ann", Role::Breeder).await;
    assert_eq!(correct(&mut breeder, &own).await, StatusCode::SEE_OTHER);
}

#[tokio::test]
async fn a_reader_looks_and_writes_nothing() {
    let house = house().await;
    let (at, pup) = litter(&house).await;
    let mut reader = phone(&house, "Gran", Role::Reader).await;
    assert_eq!(reader.get(&format!("{at}/now")).await.status, StatusCode::OK);
    let before = facts(&house).await;
    for route in ROUTES.iter().filter(|r| r.method != "get") {
        let path = route.path.replace("/{shelf}/{litter}", &at).replace("{pup}", &pup).replace("{entry}", &pup);
        let is_own = ["/device", "/sign-out", "/who", "/who/pin", "/sign-in", "/j/{token}"].contains(&route.path);
        if is_own {
            continue;
        }
        house.pass_minutes(1);
        let method = Method::from_bytes(route.method.to_uppercase().as_bytes()).unwrap();
        let mut request = post(&path, AT, Some(&format!("http://{AT}")), &[]);
        *request.method_mut() = method;
        let answer = reader.send(request).await;
        assert_eq!(answer.status, StatusCode::FORBIDDEN, "{path}");
        assert_eq!(last_refusal(&house).await, "refused-role", "{path}");
    }
    assert_eq!(facts(&house).await, before);
}

#[tokio::test]
async fn the_vets_link_shows_one_page_of_one_litter_until_it_ends() {
    let house = house().await;
    let (at, pup) = litter(&house).await;
    let mut breeder = phone(&house, "Ann", Role::Breeder).await;
    let id = at.rsplit('/').next().unwrap();
    let page = breeder.post("/household", "/household/vet", &[("litter", id), ("days", "2")]).await;
    assert_eq!(page.status, StatusCode::OK, "{}", page.text);
    let token = between(&page.text, &format!("http://{AT}/v/"), "<").to_owned();
    let link = format!("/v/{token}");
    assert_eq!(
        breeder.post("/household", "/household/vet", &[("litter", id), ("days", "8")]).await.status,
        StatusCode::UNPROCESSABLE_ENTITY
    );

    let mut vet = Browser::at(&house.router, "192.168.1.90:50000");
    let shown = vet.get(&link).await;
    assert_eq!(shown.status, StatusCode::OK);
    assert!(shown.text.contains("Sedge") && !shown.text.contains(&at), "no way on into the litter");
    assert!(!shown.text.contains("<form"), "nothing to send");
    assert!(vet.get(&format!("{link}?pup={pup}")).await.text.contains("Sedge"));
    let before = facts(&house).await;
    for path in [link.clone(), format!("{at}/weigh"), format!("{at}/check"), "/household/vet".into()] {
        let answer = vet.send(post(&path, AT, Some(&format!("http://{AT}")), &[("pup", &pup), ("weight", "1")])).await;
        assert!(answer.status.is_client_error(), "{path}: {}", answer.status);
    }
    assert!(refusals(&house).await.iter().any(|r| r.0 == "refused-signed-out"));
    assert_eq!(vet.get(&format!("{at}/vet")).await.location(), "/sign-in");
    assert_eq!(facts(&house).await, before);
    // Not another litter, not as a way in for a phone.
    assert_eq!(vet.get(&format!("/j/{token}")).await.status, StatusCode::GONE);
    house.pass_minutes(2 * 24 * 60);
    assert_eq!(vet.get(&link).await.status, StatusCode::GONE);
    assert_eq!(last_refusal(&house).await, "refused-link");
    // Taken back before its end.
    let page = breeder.post("/household", "/household/vet", &[("litter", id), ("days", "7")]).await;
    let link = format!("/v/{}", between(&page.text, &format!("http://{AT}/v/"), "<"));
    assert_eq!(vet.get(&link).await.status, StatusCode::OK);
    let household = breeder.get("/household").await.text;
    let link_id = format!("link-{}", between(&household, "value=\"link-", "\""));
    assert_eq!(
        breeder.post("/household", "/household/vet/end", &[("id", &link_id)]).await.status,
        StatusCode::SEE_OTHER
    );
    assert_eq!(vet.get(&link).await.status, StatusCode::GONE);
}

#[tokio::test]
async fn a_device_that_was_signed_out_is_out_at_once() {
    let house = house().await;
    let (at, pup) = litter(&house).await;
    let mut tom = phone(&house, "Tom", Role::Carer).await;
    let page = tom.get(&format!("{at}/weigh")).await.text;
    let token = between(&page, "name=\"token\" value=\"", "\"").to_owned();
    let mut breeder = phone(&house, "Ann", Role::Breeder).await;
    let devices = house.store.devices(house.now().as_millisecond()).await.unwrap();
    let of_tom = devices.iter().find(|d| d.carer == "Tom").unwrap();
    let answer = breeder.post("/household", "/household/device", &[("id", &of_tom.id)]).await;
    assert_eq!(answer.status, StatusCode::SEE_OTHER);
    let before = facts(&house).await;
    // The page was still open on the phone.
    let fields = [("token", token.as_str()), ("pup", &pup), ("weight", "152"), ("unit", "g")];
    let answer = tom.send(post(&format!("{at}/weigh"), AT, Some(&format!("http://{AT}")), &fields)).await;
    assert_eq!(answer.status, StatusCode::UNAUTHORIZED);
    assert_eq!(tom.get(&format!("{at}/now")).await.location(), "/sign-in");
    assert_eq!(tom.get(&format!("{at}/live")).await.status, StatusCode::UNAUTHORIZED);
    assert_eq!(last_refusal(&house).await, "refused-signed-out");
    assert_eq!(facts(&house).await, before);
    // All at once, the one who does it too.
    breeder.post("/household", "/household/device", &[("id", "all")]).await;
    assert_eq!(breeder.get("/").await.location(), "/sign-in");
}

#[tokio::test]
async fn a_device_that_asks_all_the_time_has_to_wait() {
    let house = house().await;
    let mut tom = phone(&house, "Tom", Role::Carer).await;
    let mut lena = phone(&house, "Lena", Role::Helper).await;
    let mut answered = 0;
    for _ in 0..80 {
        answered += usize::from(tom.get("/who").await.status == StatusCode::OK);
    }
    assert_eq!(answered, 40, "no second passes by the clock of this house");
    assert_eq!(last_refusal(&house).await, "refused-too-fast");
    assert_eq!(lena.get("/who").await.status, StatusCode::OK, "another phone at the same address");
}

#[tokio::test]
async fn the_audit_shows_who_did_what_page_by_page() {
    let house = house().await;
    let (at, pup) = litter(&house).await;
    let mut tom = phone(&house, "Tom", Role::Carer).await;
    for n in 0..45 {
        house.pass_minutes(61);
        let weigh = format!("{at}/weigh");
        let grams = (150 + n).to_string();
        let answer = tom.post(&weigh, &weigh, &[("pup", &pup), ("weight", &grams), ("unit", "g")]).await;
        assert_eq!(answer.status, StatusCode::SEE_OTHER, "{}", answer.text);
    }
    let mut breeder = Browser::at(&house.router, PHONE);
    breeder.post("/sign-in", "/sign-in", &[("password", "not this one")]).await;
    breeder.post("/sign-in", "/sign-in", &[("password", PASSWORD)]).await;
    let first = breeder.get("/household/audit").await.text;
    assert_eq!(first.matches("<li>").count(), 40);
    assert!(first.contains("Refused, a wrong password or PIN"), "{first}");
    assert!(first.contains("Clover") && first.contains("Sedge") && first.contains("Tom"), "{first}");
    let mut seen = first.clone();
    let mut page = first;
    for _ in 0..5 {
        if !page.contains("/household/audit?facts=") {
            break;
        }
        let older =
            format!("/household/audit?facts={}", between(&page, "/household/audit?facts=", "\"").replace("&amp;", "&"));
        page = breeder.get(&older).await.text;
        seen.push_str(&page);
    }
    for n in 0..45 {
        assert_eq!(seen.matches(&format!("Sedge, {} g", 150 + n)).count(), 1, "{} g stands there once", 150 + n);
    }
    assert!(seen.contains("The password was set"));
    let doors = breeder.get("/household/audit?only=doors").await.text;
    assert!(!doors.contains("/entry/") && doors.contains("Signed in"));
    assert!(!seen.contains(PASSWORD) && !seen.contains("not this one"));
}

#[tokio::test]
async fn somebody_who_begins_a_request_and_never_ends_it_is_cut_off() {
    let house = house().await;
    let listener = tokio::net::TcpListener::bind("127.0.0.1:0").await.unwrap();
    let address = listener.local_addr().unwrap();
    let (end, ended) = tokio::sync::oneshot::channel::<()>();
    let patience = Patience {
        headers: Duration::from_millis(200),
        body: Duration::from_millis(300),
        most: 8,
        most_of_one: 2,
        ..Patience::default()
    };
    let served = tokio::spawn(whelpward_web::serve(Arc::clone(&house.home), listener, patience, async {
        let _ = ended.await;
    }));
    let mut slow = tokio::net::TcpStream::connect(address).await.unwrap();
    slow.write_all(b"GET / HTTP/1.1\r\nHost: ").await.unwrap();
    let mut rest = Vec::new();
    slow.read_to_end(&mut rest).await.unwrap_or_default();
    assert!(!String::from_utf8_lossy(&rest).contains("200"), "{}", String::from_utf8_lossy(&rest));
    drop(slow);
    let mut found = false;
    for _ in 0..100 {
        found = last_refusal(&house).await == "refused-slow";
        if found {
            break;
        }
        tokio::time::sleep(Duration::from_millis(20)).await;
    }
    assert!(found, "{:?}", refusals(&house).await);
    // One whose body comes a byte at a time: it never pauses, and never ends.
    let mut slow = tokio::net::TcpStream::connect(address).await.unwrap();
    let head = format!(
        "POST /sign-in HTTP/1.1\r\nHost: {address}\r\nOrigin: http://{address}\r\n\
         Content-Type: application/x-www-form-urlencoded\r\nContent-Length: 100000\r\n\r\npassword="
    );
    slow.write_all(head.as_bytes()).await.unwrap();
    let (mut reading, mut writing) = slow.into_split();
    let dribble = tokio::spawn(async move {
        // Until it is cut off; were it not, the test would not end.
        while writing.write_all(b"x").await.is_ok() {
            tokio::time::sleep(Duration::from_millis(20)).await;
        }
    });
    let mut answer = Vec::new();
    // The end may come as a reset, because bytes of ours were still on their way.
    let _ = reading.read_to_end(&mut answer).await;
    dribble.await.unwrap();
    assert!(answer.starts_with(b"HTTP/1.1 408"), "{}", String::from_utf8_lossy(&answer));
    let slow = refusals(&house).await.into_iter().find(|r| r.1 == "POST /sign-in");
    assert_eq!(slow.map(|r| r.0).as_deref(), Some("refused-slow"), "{:?}", refusals(&house).await);
    // One address has so many open and no more; whoever ends one may open another.
    let ask = async || {
        let mut stream = tokio::net::TcpStream::connect(address).await.unwrap();
        let request = format!("GET /healthz HTTP/1.1\r\nHost: {address}\r\nConnection: close\r\n\r\n");
        // A connection that is not taken is closed; writing into it may fail.
        let _ = stream.write_all(request.as_bytes()).await;
        let mut text = String::new();
        let _ = stream.read_to_string(&mut text).await;
        text
    };
    let held = [
        tokio::net::TcpStream::connect(address).await.unwrap(),
        tokio::net::TcpStream::connect(address).await.unwrap(),
    ];
    assert_eq!(ask().await, "");
    drop(held);
    let mut text = String::new();
    for _ in 0..100 {
        text = ask().await;
        if !text.is_empty() {
            break;
        }
        tokio::time::sleep(Duration::from_millis(20)).await;
    }
    assert!(text.starts_with("HTTP/1.1 200"), "{text}");
    end.send(()).unwrap();
    served.await.unwrap().unwrap();
}
