//! Weigh, nurse, weigh on plain forms; and what the dam's page makes of it.

mod support;

use axum::http::StatusCode;
use support::{House, between, pup_id};

/// The fields of the form that the round shows now.
fn fields(page: &str) -> (String, String, String) {
    let value = |name: &str| between(page, &format!("name=\"{name}\" value=\""), "\"").to_owned();
    (value("pup"), value("since"), value("what"))
}

#[tokio::test]
async fn a_round_weighs_all_before_and_then_all_after_nursing() {
    let mut house = House::new().await;
    let at = house.litter(&[("Ash", "150"), ("Elm", "160")]).await;
    house.pass_minutes(60 * 60);
    let nurse = format!("{at}/nurse");
    let mut page = house.page(&nurse).await;
    let mut since = String::new();
    for weight in ["170", "182"] {
        let (pup, began, what) = fields(&page);
        assert_eq!(what, "before");
        since.clone_from(&began);
        let form = [
            ("pup", &*pup),
            ("since", &*began),
            ("what", "before"),
            ("weight", weight),
            ("unit", "g"),
            ("kept", "yes"),
        ];
        page = house.saved(&nurse, &form).await;
        house.pass_minutes(2);
    }
    assert!(page.contains("Do not wipe, stroke or wrap"), "{page}");
    // Without its address the round is found again: the weights before are in the book.
    let again = house.page(&nurse).await;
    assert_eq!(fields(&again).2, "after", "{again}");
    house.pass_minutes(20);
    let (pup, _, what) = fields(&page);
    assert_eq!(what, "after");
    let form = [("pup", &*pup), ("since", &*since), ("what", "after"), ("weight", "175"), ("unit", "g")];
    page = house.saved(&nurse, &form).await;
    assert!(page.contains("nursed, +5"), "{page}");
    let (pup, ..) = fields(&page);
    // It passed urine: only a floor.
    let form =
        [("pup", &*pup), ("since", &*since), ("what", "after"), ("weight", "186"), ("unit", "g"), ("soiled", "yes")];
    page = house.saved(&nurse, &form).await;
    assert!(page.contains("at least +4"), "{page}");
    assert!(page.contains("All weighed before and after"), "{page}");
}

async fn post(house: &mut House, path: &str, form: &[(&str, String)]) -> support::Answer {
    let form: Vec<(&str, &str)> = form.iter().map(|(n, v)| (*n, v.as_str())).collect();
    house.post(path, &form).await
}

#[tokio::test]
async fn two_weights_of_two_pups_are_asked_about_and_a_wrong_number_is_refused() {
    let mut house = House::new().await;
    let at = house.litter(&[("Ash", "150")]).await;
    house.pass_minutes(60 * 60);
    let nurse = format!("{at}/nurse");
    let (pup, since, _) = fields(&house.page(&nurse).await);
    let form = |what: &'static str, weight: &'static str| {
        vec![
            ("pup", pup.clone()),
            ("since", since.clone()),
            ("what", what.into()),
            ("weight", weight.into()),
            ("unit", "g".into()),
        ]
    };
    let mut first = form("before", "170");
    first.push(("kept", "yes".into()));
    assert_eq!(post(&mut house, &nurse, &first).await.status, StatusCode::SEE_OTHER);
    house.pass_minutes(25);
    let asked = post(&mut house, &nurse, &form("after", "190")).await;
    assert_eq!(asked.status, StatusCode::CONFLICT);
    assert!(asked.text.contains("more than a stomach holds") && asked.text.contains("value=\"190\""), "{}", asked.text);
    let refused = post(&mut house, &nurse, &form("after", "l75")).await;
    assert_eq!(refused.status, StatusCode::UNPROCESSABLE_ENTITY);
    assert!(refused.text.contains("value=\"l75\""), "what was typed stays: {}", refused.text);
    // Nothing of the two was saved: the pup is still at the dam.
    assert_eq!(fields(&house.page(&nurse).await).2, "after");
}

#[tokio::test]
async fn the_dams_page_has_the_estimate_the_weeks_and_turns() {
    let mut house = House::new().await;
    let at = house.example().await;
    let dam = format!("{at}/dam");
    let page = house.page(&dam).await;
    assert!(page.contains("What the pups get from her") && page.contains("What she needs"), "{page}");
    assert!(page.contains("Count the teats"), "{page}");
    // Three teats for four pups: turns, and the number stays.
    let page = house.saved(&dam, &[("working_teats", "3")]).await;
    assert!(page.contains("nobody waits longer than") && page.contains("value=\"3\""), "{page}");
    let page = house.saved(&dam, &[("working_teats", "8")]).await;
    assert!(page.contains("no turns are needed"), "{page}");
    let refused = house.post(&dam, &[("working_teats", "40")]).await;
    assert_eq!(refused.status, StatusCode::UNPROCESSABLE_ENTITY);
    let now = house.page(&format!("{at}/now")).await;
    let sedge = pup_id(&now, "Sedge");
    let page = house.page(&format!("{at}/pup/{sedge}")).await;
    assert!(page.contains("Milk from the dam") && page.contains("of milk a day from the dam"), "{page}");
}
