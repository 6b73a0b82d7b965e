//! "I am feeding" without script; and what a helper sees of a question that others settle.

mod support;

use axum::body::Body;
use axum::http::{Request, StatusCode, header};
use support::{AT, Browser, House, REPLACER, between, phone, pup_id};
use whelpward_app::access::Role;

/// A household on its network with one pup that is fed by hand and due.
struct Night {
    house: House,
    at: String,
    pup: String,
    tom: Browser,
    lena: Browser,
}

async fn night() -> Night {
    let house = House::over_network(AT).await;
    let mut ann = phone(&house, "Ann", Role::Breeder).await;
    let litter = [("name", "Clover"), ("breed", "Maltese"), ("scale_step_g", "1"), ("time_zone", "Europe/Berlin")];
    let at = ann.post("/new", "/new", &litter).await.location().strip_suffix("/now").unwrap().to_owned();
    let mut saved = async |page: &str, fields: &[(&str, &str)]| {
        let page = format!("{at}/{page}");
        let answer = ann.post(&page, &page, fields).await;
        assert_eq!(answer.status, StatusCode::SEE_OTHER, "{page}: {}", answer.text);
    };
    let born = [("name", "Sedge"), ("sex", "female"), ("coat", "white"), ("colour", "red"), ("pattern", "dots")];
    let born: Vec<_> = born.into_iter().chain([("weight", "180"), ("unit", "g"), ("at", "20:00")]).collect();
    saved("birth", &born).await;
    for name in ["Tom", "Lena"] {
        saved("settings", &[("what", "carer"), ("name", name)]).await;
    }
    house.pass_minutes(26 * 60);
    saved("milk", &REPLACER).await;
    saved("check", &[("pup", ""), ("pups_with_dam", "no")]).await;
    let mut tom = phone(&house, "Tom", Role::Carer).await;
    let pup = pup_id(&tom.get(&format!("{at}/litter")).await.text, "Sedge");
    saved("weigh", &[("pup", &pup), ("weight", "182"), ("unit", "g"), ("taken", "before_feed")]).await;
    for (kind, value) in [("palate", "whole"), ("suck", "strong"), ("rectal_temperature_c", "36.2")] {
        saved("check", &[("pup", &pup), (kind, value)]).await;
    }
    let lena = phone(&house, "Lena", Role::Helper).await;
    Night { house, at, pup, tom, lena }
}

#[tokio::test]
async fn a_carer_says_without_script_that_the_round_is_begun_and_the_others_see_it() {
    let Night { house, at, mut tom, mut lena, .. } = night().await;
    let (feed, feeding) = (format!("{at}/feed"), format!("{at}/feeding"));
    let page = lena.get(&feed).await.text;
    assert!(page.contains("I am feeding: tell the others") && !page.contains("is feeding ("), "{page}");
    let round = between(&page, "name=\"round_at\" value=\"", "\"").to_owned();
    let answer = lena.post(&feed, &feeding, &[("round_at", &round)]).await;
    assert!(answer.status == StatusCode::SEE_OTHER && answer.location().starts_with(&feed), "{}", answer.text);
    let own = lena.get(&answer.location()).await.text;
    assert!(own.contains("You are feeding (") && !own.contains("I am feeding: tell"), "{own}");
    assert!(own.contains("The others see that you are feeding."), "{own}");
    for page in ["now", "feed"] {
        let page = tom.get(&format!("{at}/{page}")).await.text;
        assert!(page.contains("Lena is feeding ("), "{page}");
    }
    // It locks nothing: another may feed, and say so too. Said twice it is said once.
    assert!(tom.get(&feed).await.text.contains("I am feeding: tell the others"));
    let facts = house.store.count().await.unwrap();
    assert_eq!(lena.post(&feed, &feeding, &[("round_at", &round)]).await.location(), feed);
    assert_eq!(house.store.count().await.unwrap(), facts);
    assert_eq!(lena.post(&feed, &feeding, &[("round_at", "soon")]).await.status, StatusCode::BAD_REQUEST);
    house.pass_minutes(20);
    let page = tom.get(&format!("{at}/now")).await.text;
    assert!(!page.contains("is feeding"), "after twenty minutes it informs no longer: {page}");
}

#[tokio::test]
async fn a_reader_is_offered_no_round_and_an_example_none_either() {
    let Night { house, at, pup: _, .. } = night().await;
    let mut gran = phone(&house, "Gran", Role::Reader).await;
    let feed = format!("{at}/feed");
    assert!(!gran.get(&feed).await.text.contains("I am feeding"));
    let answer = gran.post("/who", &format!("{at}/feeding"), &[("round_at", "2026-11-26T22:00:00Z")]).await;
    assert_eq!(answer.status, StatusCode::FORBIDDEN);

    let mut alone = House::new().await;
    let example = alone.example().await;
    assert!(!alone.page(&format!("{example}/feed")).await.contains("I am feeding"));
    let answer = alone.post(&format!("{example}/feeding"), &[("round_at", "2026-11-26T22:00:00Z")]).await;
    assert_eq!(answer.location(), format!("{example}/feed"), "nothing is saved");
}

#[tokio::test]
async fn a_helper_sees_the_question_of_two_feeds_and_who_answers_it_without_its_buttons() {
    let Night { house, at, pup, mut tom, mut lena } = night().await;
    for (who, name, ml, number) in [(&mut tom, "Tom", "2", 8), (&mut lena, "Lena", "2.1", 9)] {
        // From the shelf of a phone that was away: nobody was asked while it was written.
        house.pass_minutes(1);
        let page = who.get(&format!("{at}/weigh")).await.text;
        let token = between(&page, "data-token=\"", "\"").to_owned();
        let now = house.now().to_string();
        let fact = serde_json::json!({ "id": format!("01a1e000-0000-7000-8000-00000000000{number}"), "kind": "feed",
            "pup": pup, "litter": at.rsplit('/').next().unwrap(), "occurred_at": now, "zone": "UTC", "carer": name,
            "device": "phone", "body": { "fed_at": now, "method": "bottle", "taken_ml": ml } });
        let sent = Request::put(format!("/api/v1/events/{}", fact["id"].as_str().unwrap()))
            .header(header::HOST, AT)
            .header(header::ORIGIN, format!("http://{AT}"))
            .header("whelpward-token", token)
            .body(Body::from(fact.to_string()))
            .unwrap();
        let answer = who.send(sent).await;
        assert!(answer.text.contains("\"result\":\"saved\""), "{}", answer.text);
    }
    for page in ["now", "feed"] {
        let page = format!("{at}/{page}");
        let seen = lena.get(&page).await.text;
        assert!(seen.contains("Same feed written twice, or two feeds?"), "{seen}");
        assert!(!seen.contains(&format!("{at}/answer")), "no button that would be refused: {seen}");
        assert!(seen.contains("A carer or the breeder answers this"), "{seen}");
        let seen = tom.get(&page).await.text;
        assert!(seen.contains("Same feed written twice") && seen.contains(&format!("{at}/answer")), "{seen}");
        assert!(!seen.contains("A carer or the breeder answers this"));
    }
}
