//! Several homes on one server: everybody finds their own home, and nobody another.

mod support;

use std::sync::Arc;

use axum::Router;
use axum::http::StatusCode;
use jiff::Timestamp;
use support::{AT, Browser, NOW, between, places};
use whelpward_app::access::{self, By, Role};
use whelpward_store::{HomeRow, Homes, Store};
use whelpward_web::{HomeNetwork, Organisation};

const PHONE: &str = "192.168.1.23:50001";
const SECRET: &str = "00112233445566778899aabbccddeeff00112233445566778899aabbccddeeff";

/// The board of two homes, as two server processes serve it.
struct Board {
    url: String,
    homes: Homes,
    first: Router,
    second: Router,
    mill: Place,
    barn: Place,
    _folder: tempfile::TempDir,
}

/// A home with its breeder and a litter.
struct Place {
    row: HomeRow,
    breeder: Browser,
    litter: String,
}

fn now() -> Timestamp {
    NOW.parse().unwrap()
}

async fn serve(homes: &Homes, folder: &std::path::Path) -> Router {
    let network = HomeNetwork::new(places("http", AT), None);
    let opened = Organisation::open(homes.clone(), folder.into(), Arc::new(now), vec![AT.into()], network);
    opened.await.unwrap().pages()
}

/// A person comes in by a link of that book; `to` is 1, 2 or board.
async fn comes_in(store: &Store, pages: &Router, to: &str, name: &str, role: Role) -> Browser {
    let link = access::phone_link(store, &By::default(), name, role, now()).await.unwrap();
    let mut browser = Browser::at(pages, PHONE);
    let way = browser.get(&format!("/to/{to}/j/{link}")).await;
    let path = if to == "board" { format!("/j/{link}") } else { way.location() };
    assert_eq!(browser.post(&path, &path, &[]).await.status, StatusCode::SEE_OTHER);
    assert!(browser.session().is_some(), "{name}");
    browser
}

async fn place(homes: &Homes, pages: &Router, name: &str, litter: &str) -> Place {
    let row = homes.add(name, SECRET, now()).await.unwrap();
    let store = homes.store(&row).await.unwrap();
    let mut breeder = comes_in(&store, pages, &row.number.to_string(), &format!("{name} breeder"), Role::Breeder).await;
    let fields = [("name", litter), ("breed", "Maltese"), ("scale_step_g", "1"), ("time_zone", "Europe/Berlin")];
    let at = breeder.post("/new", "/new", &fields).await.location();
    let litter = at.strip_suffix("/now").unwrap().to_owned();
    let pup = [("name", "Ash"), ("sex", "female"), ("coat", "white"), ("colour", "red"), ("pattern", "dots")];
    let pup: Vec<(&str, &str)> = pup.into_iter().chain([("weight", "160"), ("unit", "g"), ("at", "20:00")]).collect();
    let birth = format!("{litter}/birth");
    assert_eq!(breeder.post(&birth, &birth, &pup).await.status, StatusCode::SEE_OTHER);
    Place { row, breeder, litter }
}

async fn board() -> Board {
    static NUMBER: std::sync::atomic::AtomicU64 = std::sync::atomic::AtomicU64::new(0);
    let server = std::env::var("WHELPWARD_TEST_POSTGRES")
        .expect("WHELPWARD_TEST_POSTGRES names a PostgreSQL server for tests; scripts/test starts one");
    let number = NUMBER.fetch_add(1, std::sync::atomic::Ordering::Relaxed);
    let url = format!(
        "{server}/{}",
        support::fresh_database(&server, &format!("homes_{}_{number}", std::process::id())).await
    );
    let homes = Homes::open(&url, SECRET).await.unwrap();
    let folder = tempfile::tempdir().unwrap();
    let (first, second) = (serve(&homes, folder.path()).await, serve(&homes, folder.path()).await);
    let (mill, barn) = (place(&homes, &first, "Mill", "Clover").await, place(&homes, &first, "Barn", "Heather").await);
    Board { url, homes, first, second, mill, barn, _folder: folder }
}

#[tokio::test]
#[ignore = "needs WHELPWARD_TEST_POSTGRES; scripts/test starts one"]
async fn nobody_of_one_home_finds_anything_of_another() {
    let Board { mill, barn, .. } = board().await;
    let mut breeder = mill.breeder;
    let own = breeder.get(&format!("{}/now", mill.litter)).await;
    assert!(own.status == StatusCode::OK && own.text.contains("Clover"), "{}", own.text);

    // The other home's litter by its address.
    let other = breeder.get(&format!("{}/now", barn.litter)).await;
    assert!(other.status == StatusCode::NOT_FOUND && !other.text.contains("Heather"), "{}", other.text);
    let way = format!("{}/weigh", barn.litter);
    assert_eq!(breeder.post("/", &way, &[("weight", "200")]).await.status, StatusCode::NOT_FOUND);

    // By going over to the other home, by the way there is and by a cookie of one's own making.
    breeder.get(&format!("/to/{}/", barn.row.number)).await;
    for page in [format!("{}/now", barn.litter), "/".into(), "/household".into(), "/household/audit".into()] {
        let answer = breeder.get(&page).await;
        assert_eq!((answer.status, answer.location().as_str()), (StatusCode::SEE_OTHER, "/sign-in"), "{page}");
    }
    for made_up in ["2", "99", "-1", "board", "2; DROP SCHEMA whelpward_home_1"] {
        breeder.cookies.insert("whelpward_home".into(), made_up.into());
        let answer = breeder.get(&format!("{}/now", barn.litter)).await;
        assert!(!answer.text.contains("Heather") && answer.status != StatusCode::OK, "{made_up}");
    }
    // The board is for the people of the board.
    assert_eq!(breeder.get("/board").await.location(), "/sign-in");
}

#[tokio::test]
#[ignore = "needs WHELPWARD_TEST_POSTGRES; scripts/test starts one"]
async fn the_board_shows_the_homes_that_were_named_and_writes_nothing() {
    let Board { homes, first, second, mill, barn, .. } = board().await;
    let mut all = comes_in(&homes.board, &first, "board", "Ann", Role::Breeder).await;
    let page = all.get("/board").await.text;
    assert!(page.contains("Mill") && page.contains("Barn") && page.contains("Clover") && page.contains("Heather"));
    // Nothing is known of the warmth of a pup of a few minutes: that is to be looked at, in both homes.
    assert!(page.matches("/litter/").count() >= 2, "{page}");

    let mut one = comes_in(&homes.board, &first, "board", "Robin", Role::Carer).await;
    assert!(!one.get("/board").await.text.contains("Clover"), "no home was named");
    homes.let_see("Robin", mill.row.number, true).await.unwrap();
    let page = one.get("/board").await.text;
    assert!(page.contains("Clover") && !page.contains("Heather") && !page.contains("Barn"), "{page}");

    // Into the home: to look at, not to write in, and not to let anybody in.
    let way = between(&page, "href=\"/to/", "\"").to_owned();
    let inside = one.get(&format!("/to/{way}")).await.location();
    assert!(inside.starts_with(&mill.litter), "{inside}");
    assert_eq!(one.get(&inside).await.status, StatusCode::OK);
    for (path, fields) in [
        (format!("{}/weigh", mill.litter), vec![("weight", "200")]),
        (format!("{}/settings", mill.litter), vec![("breed", "Labrador Retriever")]),
        ("/household/password".into(), vec![("password", "another password")]),
        ("/new".into(), vec![("name", "Mine")]),
    ] {
        let answer = one.post(&inside, &path, &fields).await;
        assert_eq!(answer.status, StatusCode::FORBIDDEN, "{path}: {}", answer.text);
    }
    // Not into the other one.
    one.get(&format!("/to/{}/", barn.row.number)).await;
    assert_eq!(one.get(&format!("{}/now", barn.litter)).await.location(), "/sign-in");

    // The same sign-in, and a form of the first process, at the second.
    let mut there = Browser::at(&second, PHONE);
    there.cookies = all.cookies.clone();
    assert!(there.get("/board").await.text.contains("Heather"));
    let mut breeder = Browser::at(&second, PHONE);
    breeder.cookies = mill.breeder.cookies.clone();
    let page = mill.breeder.clone().get(&format!("{}/weigh", mill.litter)).await.text;
    let token = between(&page, "name=\"token\" value=\"", "\"").to_owned();
    let form = support::post(
        "/device",
        AT,
        Some(&format!("http://{AT}")),
        &[("token", &token), ("theme", "night"), ("back", "/")],
    );
    assert_eq!(breeder.send(form).await.status, StatusCode::SEE_OTHER);

    // Seen no longer: at the next request.
    homes.let_see("Robin", mill.row.number, false).await.unwrap();
    one.get(&format!("/to/{}/", mill.row.number)).await;
    assert_eq!(one.get(&format!("{}/now", mill.litter)).await.location(), "/sign-in");
}

#[tokio::test]
#[ignore = "needs WHELPWARD_TEST_POSTGRES; scripts/test starts one"]
async fn a_removed_home_is_gone_within_two_seconds_and_an_added_one_is_there_at_once() {
    use sqlx::Executor as _;
    let Board { url, homes, mill, .. } = board().await;
    let time = Arc::new(std::sync::Mutex::new(now()));
    let clock = Arc::clone(&time);
    let folder = tempfile::tempdir().unwrap();
    let clock = Arc::new(move || *clock.lock().unwrap());
    let network = HomeNetwork::new(places("http", AT), None);
    let opened = Organisation::open(homes.clone(), folder.path().into(), clock, vec![AT.into()], network);
    let pages = opened.await.unwrap().pages();
    let mut breeder = Browser::at(&pages, PHONE);
    breeder.cookies = mill.breeder.cookies.clone();
    let page = format!("{}/now", mill.litter);
    assert!(breeder.get(&page).await.text.contains("Clover"));

    let pool = sqlx::AnyPool::connect(&url).await.unwrap();
    let remove = format!("DELETE FROM whelpward_board.home WHERE number = {}", mill.row.number);
    pool.execute(sqlx::AssertSqlSafe(remove)).await.unwrap();
    pool.close().await;
    // The list is not read for each request …
    assert!(breeder.get(&page).await.text.contains("Clover"));
    // … but soon again.
    *time.lock().unwrap() += jiff::SignedDuration::from_secs(2);
    let answer = breeder.get(&page).await;
    assert!(answer.status != StatusCode::OK && !answer.text.contains("Clover"), "{}", answer.text);

    let byre = homes.add("Byre", SECRET, now()).await.unwrap();
    let mut new = Browser::at(&pages, PHONE);
    assert_eq!(new.get(&format!("/to/{}/", byre.number)).await.status, StatusCode::SEE_OTHER);
    assert_eq!(new.get("/to/99/").await.status, StatusCode::NOT_FOUND);
}
