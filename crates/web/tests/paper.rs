//! What was written on paper is typed in: several rows at once, and a bad row loses nothing.

mod support;

use axum::http::StatusCode;
use support::{House, between};

fn ids(page: &str) -> Vec<String> {
    page.match_indices("name=\"pup")
        .filter(|(i, _)| page[*i..].starts_with("name=\"pup0\"") || page[*i..].starts_with("name=\"pup1\""))
        .filter_map(|(i, _)| {
            page[i..].split_once("value=\"").map(|(_, rest)| rest.split('"').next().unwrap().to_owned())
        })
        .collect()
}

#[tokio::test]
async fn good_rows_are_saved_and_bad_ones_stay_as_they_were_typed() {
    let mut house = House::new().await;
    let at = house.litter(&[("Ash", "150"), ("Birch", "160")]).await;
    let paper = format!("{at}/paper");
    let page = house.page(&paper).await;
    let pups = ids(&page);
    let (ash, birch) = (pups[0].as_str(), pups[1].as_str());
    house.pass_minutes(12 * 60);
    let answer = house
        .post(
            &paper,
            &[
                ("what", "weights"),
                ("pup0", ash),
                ("at0", "08:30"),
                ("weight0", "153"),
                ("pup1", birch),
                ("at1", "half past"),
                ("weight1", "164"),
            ],
        )
        .await;
    assert_eq!(answer.status, StatusCode::UNPROCESSABLE_ENTITY);
    assert!(answer.text.contains("1 row was not saved"), "{}", answer.text);
    assert!(answer.text.contains("value=\"half past\"") && answer.text.contains("value=\"164\""), "nothing is lost");
    assert!(!answer.text.contains("value=\"153\""), "what was saved is not typed twice");
    let page = house.page(&format!("{at}/pup/{ash}")).await;
    assert!(page.contains("153"), "{page}");
    // The bad row again, mended; and one tenfold too large, which is asked about.
    let page = house.saved(&paper, &[("what", "weights"), ("pup1", birch), ("at1", "08:32"), ("weight1", "164")]).await;
    assert!(page.contains("164"), "{page}");
    house.pass_minutes(60);
    let slip = [("what", "weights"), ("pup0", ash), ("at0", "09:30"), ("weight0", "1530")];
    let answer = house.post(&paper, &slip).await;
    assert_eq!(answer.status, StatusCode::UNPROCESSABLE_ENTITY);
    assert!(answer.text.contains("name=\"kept0\"") && answer.text.contains("value=\"1530\""), "{}", answer.text);
}

#[tokio::test]
async fn feeds_keep_their_time_and_a_row_without_one_is_not_taken_for_now() {
    let mut house = House::new().await;
    let at = house.example().await;
    let paper = format!("{at}/paper");
    let page = house.page(&paper).await;
    let pup = ids(&page)[0].clone();
    let answer = house.post(&paper, &[("what", "feeds"), ("pup0", &pup), ("took0", "3"), ("method0", "bottle")]).await;
    assert_eq!(answer.status, StatusCode::UNPROCESSABLE_ENTITY);
    assert!(answer.text.contains("no time") && answer.text.contains("value=\"3\""), "{}", answer.text);
    assert!(
        between(&answer.text, "name=\"pup0\"", "</select>").contains("selected")
            || answer.text.contains(&format!("value=\"{pup}\" selected"))
    );
}
