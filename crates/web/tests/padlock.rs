//! The pages over https beside plain http: neither stands in for the other.
//! No test opens the pages beyond this computer; where somebody comes from is made up.

mod support;

use std::sync::Arc;
use std::time::Duration;

use axum::http::StatusCode;
use jiff::Timestamp;
use support::{AT, Browser, House, between, numbers, places, post};
use tokio::io::AsyncReadExt as _;
use whelpward_app::access::{self, By, Role};
use whelpward_web::{Https, Listeners, Padlock, Patience};

const PHONE: &str = "192.168.1.23:50001";
const AFAR: &str = "203.0.113.9:40000";
const SECURE: &str = "https://192.168.1.5:7317";

async fn house(is_for_all: bool) -> House {
    let folder = tempfile::tempdir().unwrap();
    let places = places("https", AT);
    let https = Https::open(folder.path(), Arc::clone(&places.numbers), vec![], Timestamp::now()).unwrap();
    let padlock = Padlock { places, https: Arc::new(https), is_for_all };
    let house = House::with_padlock(AT, padlock).await;
    access::set_password(&house.store, &By::default(), "four plain words here".into(), None, house.now())
        .await
        .unwrap();
    house
}

/// A phone that joined by a link, over https or over plain http.
async fn phone(house: &House, is_secure: bool) -> Browser {
    let link = access::phone_link(&house.store, &By::default(), "Ann", Role::Breeder, house.now()).await.unwrap();
    let mut browser = Browser::at(&house.router, PHONE).over(is_secure);
    let path = format!("/j/{link}");
    let answer = browser.post(&path, &path, &[]).await;
    assert_eq!(answer.status, StatusCode::SEE_OTHER, "{}", answer.text);
    let set: Vec<_> = answer.headers.get_all("set-cookie").iter().map(|c| c.to_str().unwrap()).collect();
    let session = set.iter().find(|c| c.contains("whelpward_session=")).unwrap();
    assert_eq!(session.starts_with("__Host-") && session.ends_with("; Secure"), is_secure, "{session}");
    assert!(!session.contains("Domain") && session.contains("Path=/;"), "{session}");
    browser
}

#[tokio::test]
async fn a_session_of_plain_http_is_none_over_https() {
    let house = house(false).await;
    let mut plain = phone(&house, false).await;
    assert_eq!(plain.get("/household").await.status, StatusCode::OK);
    // Browsers send a cookie to every port of an address: over https that of plain http counts for nothing.
    assert_eq!(plain.over(true).get("/household").await.location(), "/sign-in");
    let mut locked = phone(&house, true).await;
    assert_eq!(locked.get("/household").await.status, StatusCode::OK);
    // And the other way: over plain http the cookie of https is not looked at.
    locked.is_secure = false;
    assert_eq!(locked.get("/household").await.location(), "/sign-in");
}

#[tokio::test]
async fn a_plain_page_of_the_same_name_cannot_post_over_https() {
    let house = house(false).await;
    let mut locked = phone(&house, true).await;
    let page = locked.get("/who").await.text;
    let token = between(&page, "name=\"token\" value=\"", "\"").to_owned();
    let fields = [("token", token.as_str())];
    let refused = locked.send(post("/sign-out", AT, Some(&format!("http://{AT}")), &fields)).await;
    assert_eq!(refused.status, StatusCode::FORBIDDEN);
    let taken = locked.send(post("/sign-out", AT, Some(&format!("https://{AT}")), &fields)).await;
    assert_eq!(taken.status, StatusCode::SEE_OTHER, "{}", taken.text);
    assert_eq!(locked.session(), None);
}

#[tokio::test]
async fn links_that_are_made_over_https_lead_there() {
    let house = house(false).await;
    for (is_secure, leads_to) in [(true, SECURE), (false, "http://192.168.1.5:7317")] {
        let mut breeder = phone(&house, is_secure).await;
        let fields = [("name", "Tom"), ("role", "carer")];
        let page = breeder.post("/household", "/household/phone", &fields).await;
        assert!(page.text.contains(&format!("{leads_to}/j/")), "{}", page.text);
    }
}

#[tokio::test]
async fn beyond_the_home_network_nobody_is_answered_but_over_https_where_that_was_said() {
    for (is_for_all, is_secure, expected) in [
        (false, false, StatusCode::FORBIDDEN),
        (false, true, StatusCode::FORBIDDEN),
        (true, false, StatusCode::FORBIDDEN),
        (true, true, StatusCode::OK),
    ] {
        let house = house(is_for_all).await;
        let mut afar = Browser::at(&house.router, AFAR).over(is_secure);
        let status = afar.get("/sign-in").await.status;
        assert_eq!(status, expected, "for all: {is_for_all}, over https: {is_secure}");
    }
}

#[tokio::test]
async fn the_authority_is_for_everybody_and_its_key_for_nobody() {
    let house = house(false).await;
    let mut guest = Browser::at(&house.router, PHONE);
    let page = guest.get("/padlock").await.text;
    assert!(page.contains("/padlock/authority.crt") && page.contains(&format!("{SECURE}/")), "{page}");
    assert_eq!(guest.get("/padlock/authority.crt").await.status, StatusCode::OK);
    for path in ["/padlock/authority.key", "/padlock/authority.pem"] {
        assert_eq!(guest.get(path).await.status, StatusCode::NOT_FOUND, "{path}");
    }
}

#[tokio::test]
async fn who_never_ends_the_greeting_of_https_is_cut_off() {
    let house = house(false).await;
    let folder = tempfile::tempdir().unwrap();
    let https = Https::open(folder.path(), numbers(&[]), vec![], Timestamp::now()).unwrap();
    let plain = tokio::net::TcpListener::bind("127.0.0.1:0").await.unwrap();
    let secure = tokio::net::TcpListener::bind("127.0.0.1:0").await.unwrap();
    let address = secure.local_addr().unwrap();
    let listeners = Listeners { plain, secure: Some((secure, Arc::new(https))) };
    let (end, ended) = tokio::sync::oneshot::channel::<()>();
    let patience = Patience { headers: Duration::from_millis(200), ..Patience::default() };
    let served = tokio::spawn(whelpward_web::serve(Arc::clone(&house.home), listeners, patience, async {
        let _ = ended.await;
    }));
    let mut silent = tokio::net::TcpStream::connect(address).await.unwrap();
    let mut rest = Vec::new();
    assert_eq!(silent.read_to_end(&mut rest).await.unwrap(), 0, "cut off without a word");
    end.send(()).unwrap();
    served.await.unwrap().unwrap();
}
