//! Everything taken out, and erased for good, on the pages.

mod support;

use axum::http::{StatusCode, header};
use support::{AT, House, phone};
use whelpward_app::access::Role;
use whelpward_web::copy_if_due;

const PAGE: &str = "/household/erase";

fn copies(house: &House) -> Vec<String> {
    let files = std::fs::read_dir(house.folder.path().join("copies")).into_iter().flatten().flatten();
    let mut names: Vec<String> = files.map(|f| f.file_name().into_string().unwrap()).collect();
    names.retain(|name| name.ends_with(".sqlite"));
    names.sort();
    names
}

#[tokio::test]
async fn a_litter_goes_after_the_zip_and_the_name_and_not_before() {
    let mut house = House::new().await;
    let at = house.litter(&[("Ash", "180")]).await;
    let id = at.rsplit('/').next().unwrap().to_owned();
    copy_if_due(&house.home).await;
    house.pass_minutes(60);
    assert!(house.page("/household").await.contains(PAGE));
    let page = house.page(PAGE).await;
    assert!(page.contains("Clover") && page.contains("Save the ZIP"), "{page}");

    let chosen = house.post(PAGE, &[("litter", &id), ("look", "yes")]).await.text;
    assert!(chosen.contains("Not all of it is in a ZIP yet") && !chosen.contains("Erase for good"), "{chosen}");
    // A form that was open all the time does not get round that.
    let wants = [("litter", id.as_str()), ("have_file", "yes"), ("old_copies", "yes"), ("typed", "Clover")];
    let answer = house.post(PAGE, &wants).await;
    assert_eq!(answer.status, StatusCode::UNPROCESSABLE_ENTITY);
    assert!(answer.text.contains("Not all of it is in a ZIP yet"), "{}", answer.text);

    let zip = house.post("/household/everything", &[]).await;
    assert_eq!(zip.status, StatusCode::OK);
    assert_eq!(zip.headers[header::CONTENT_TYPE], "application/zip");
    assert!(zip.headers[header::CONTENT_DISPOSITION].to_str().unwrap().contains("everything-20261125T210000Z.zip"));
    assert!(zip.text.starts_with("PK") && zip.text.contains("facts.jsonl"));

    let chosen = house.post(PAGE, &[("litter", &id), ("look", "yes")]).await.text;
    assert!(chosen.contains("Erase for good") && chosen.contains("weighings: 0, feeds: 0"), "{chosen}");
    for (fields, why) in [
        ([("litter", id.as_str()), ("have_file", ""), ("typed", "Clover")], "First say that you have the ZIP"),
        ([("litter", id.as_str()), ("have_file", "yes"), ("typed", "Clove")], "letter by letter"),
    ] {
        let answer = house.post(PAGE, &fields).await;
        assert_eq!(answer.status, StatusCode::UNPROCESSABLE_ENTITY);
        assert!(answer.text.contains(why), "{}", answer.text);
    }
    house.page(&format!("{at}/now")).await;
    let before = copies(&house);

    let answer = house.post(PAGE, &wants).await;
    assert_eq!(answer.status, StatusCode::OK, "{}", answer.text);
    assert!(
        answer.text.contains("The litter is gone") && answer.text.contains("1 older copy was removed"),
        "{}",
        answer.text
    );
    let after = copies(&house);
    assert!(after.len() == 1 && before.len() == 1 && after != before, "{before:?} {after:?}");
    assert_eq!(house.get(&format!("{at}/now")).await.status, StatusCode::NOT_FOUND);
    assert_eq!(house.get(&format!("{at}/ahead")).await.status, StatusCode::NOT_FOUND);
    assert!(!house.page(PAGE).await.contains("Clover"));
    let audit = house.page("/household/audit").await;
    assert!(
        audit.contains("A litter was erased") && audit.contains("saved as a ZIP") && !audit.contains("Clover"),
        "{audit}"
    );
    // Once more, from another window.
    assert_eq!(house.post(PAGE, &wants).await.status, StatusCode::NOT_FOUND);
}

#[tokio::test]
async fn a_name_goes_from_pages_and_doors_and_the_phone_in_that_hand_is_signed_out() {
    let house = House::over_network(AT).await;
    let mut breeder = phone(&house, "Lead", Role::Breeder).await;
    let mut kim = phone(&house, "Kim", Role::Carer).await;
    assert_eq!(kim.get("/").await.status, StatusCode::OK);
    // A carer does not even see the page.
    for path in [PAGE, "/household/everything"] {
        let answer = kim.post("/", path, &[("person", "Lead"), ("typed", "Lead"), ("have_file", "yes")]).await;
        assert_eq!(answer.status, StatusCode::FORBIDDEN, "{path}");
    }
    assert_eq!(kim.get(PAGE).await.status, StatusCode::FORBIDDEN);

    assert_eq!(breeder.post(PAGE, "/household/everything", &[]).await.status, StatusCode::OK);
    let chosen = breeder.post(PAGE, PAGE, &[("person", "Kim"), ("look", "yes")]).await.text;
    assert!(chosen.contains("Erase Kim"), "{chosen}");
    let fields = [("person", "Kim"), ("have_file", "yes"), ("typed", "Kim")];
    let answer = breeder.post(PAGE, PAGE, &fields).await;
    assert!(answer.text.contains("Person 1"), "{}", answer.text);
    assert_ne!(kim.get("/").await.status, StatusCode::OK, "signed out");
    for page in ["/household", "/household/audit", PAGE] {
        let text = breeder.get(page).await.text;
        assert!(!text.contains("Kim"), "{page}: {text}");
    }
    house.pass_minutes(1);
    assert!(breeder.get("/household/audit").await.text.contains("Person 1"));
}
