//! Copies of the book while the pages are served.

mod support;

use support::House;
use whelpward_web::copy_if_due;

fn copies(house: &House) -> usize {
    let files = std::fs::read_dir(house.folder.path().join("copies")).into_iter().flatten().flatten();
    files.filter(|f| f.path().extension().is_some_and(|e| e == "sqlite")).count()
}

#[tokio::test]
async fn a_young_litter_is_copied_every_hour_and_the_settings_say_where() {
    let mut house = House::new().await;
    copy_if_due(&house.home).await;
    assert_eq!(copies(&house), 0, "an empty book needs no copy");
    let at = house.litter(&[("Ash", "180")]).await;
    let page = house.page(&format!("{at}/settings")).await;
    assert!(page.contains("No copy yet"), "{page}");
    copy_if_due(&house.home).await;
    copy_if_due(&house.home).await;
    assert_eq!(copies(&house), 1, "not due again");
    let page = house.page(&format!("{at}/settings")).await;
    assert!(page.contains("book-20261125T200000Z.sqlite") && page.contains("21:00"), "{page}");

    house.pass_minutes(59);
    copy_if_due(&house.home).await;
    assert_eq!(copies(&house), 1, "59 minutes");
    house.pass_minutes(1);
    copy_if_due(&house.home).await;
    assert_eq!(copies(&house), 2, "an hour");
    // A litter of more than two weeks: once a day.
    house.pass_minutes(15 * 24 * 60);
    copy_if_due(&house.home).await;
    house.pass_minutes(60);
    copy_if_due(&house.home).await;
    assert_eq!(copies(&house), 3, "once a day");
}

#[tokio::test]
async fn a_copy_that_cannot_be_made_is_said_on_the_first_page_until_it_can() {
    let mut house = House::new().await;
    let at = house.litter(&[("Ash", "180")]).await;
    let folder = house.folder.path().join("copies");
    std::fs::write(&folder, "a file where the folder should be").unwrap();
    copy_if_due(&house.home).await;
    for page in ["now", "settings"] {
        let page = house.page(&format!("{at}/{page}")).await;
        assert!(page.contains("No copy of the book can be made"), "{page}");
    }
    std::fs::remove_file(&folder).unwrap();
    copy_if_due(&house.home).await;
    assert!(!house.page(&format!("{at}/now")).await.contains("No copy of the book can be made"));
    assert_eq!(copies(&house), 1);
}
