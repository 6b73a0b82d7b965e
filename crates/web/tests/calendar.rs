//! The feeds as calendar files, fetched from the timetable, and the alarms beside them.

mod support;

use axum::http::{StatusCode, header};
use jiff::{SignedDuration, Timestamp};
use support::{House, between};

/// The invented household that goes to work: three carers with hours.
async fn working_household(house: &mut House) -> String {
    house.example().await;
    let start = house.page("/").await;
    for (i, _) in start.match_indices("/example/") {
        let at = &start[i..i + 45];
        if house.page(&format!("{at}/timetable")).await.contains("Neighbour") {
            return at.to_owned();
        }
    }
    panic!("no example with carers");
}

fn starts(file: &str) -> Vec<Timestamp> {
    let parsed = |line: &str| {
        let text = line.strip_prefix("DTSTART:")?;
        let [y, mo, d, h, mi, s] = [0..4, 4..6, 6..8, 9..11, 11..13, 13..15].map(|part| &text[part]);
        Some(format!("{y}-{mo}-{d}T{h}:{mi}:{s}Z").parse().unwrap())
    };
    file.lines().filter_map(parsed).collect()
}

#[tokio::test]
async fn each_carer_finds_a_file_and_the_alarms_that_it_holds() {
    let mut house = House::new().await;
    let at = working_household(&mut house).await;
    let page = house.page(&format!("{at}/timetable")).await;
    assert!(page.contains("This program wakes nobody."), "{page}");
    // The moment of the example, as its litter.toml has it.
    let now: Timestamp = "2026-11-20T16:40:00+01:00".parse().unwrap();
    let mut of_carers = 0;
    for carer in ["Robin", "Jules", "Neighbour"] {
        let path = format!("{at}/timetable/feeds.ics?carer={carer}");
        assert!(page.contains(&format!("href=\"{path}\"")), "{page}");
        let answer = house.get(&path).await;
        assert_eq!(answer.status, StatusCode::OK, "{}", answer.text);
        assert_eq!(answer.headers[header::CONTENT_TYPE], "text/calendar; charset=utf-8");
        let named = format!("attachment; filename=\"feeds-{carer}.ics\"; filename*=UTF-8''feeds-{carer}.ics");
        assert_eq!(answer.headers[header::CONTENT_DISPOSITION], named.as_str());
        let text = answer.text.replace("\r\n ", "");
        assert!(!text.contains("mL") && !text.contains("Alder") && !text.contains("Coppice"), "{text}");
        let starts = starts(&text);
        assert_eq!(text.matches("INVENTED EXAMPLE").count(), starts.len(), "{text}");
        of_carers += starts.len();
        // What rings by hand is what rings by the file, by the clocks of the litter.
        let berlin = jiff::tz::TimeZone::get("Europe/Berlin").unwrap();
        let clock = |t: &Timestamp| t.to_zoned_datetime(berlin.clone()).strftime("%H:%M").to_string();
        let of_a_day = starts.iter().filter(|t| **t > now && t.duration_since(now) < SignedDuration::from_hours(24));
        let times: Vec<String> = of_a_day.map(clock).collect();
        let expected = match times.as_slice() {
            [] => format!("{carer}: no round in the next 24 hours."),
            times => format!("{carer}: set these alarms for the next 24 hours: {}<", times.join(", ")),
        };
        assert!(page.contains(&expected), "{expected}: {page}");
    }
    let all = house.get(&format!("{at}/timetable/feeds.ics")).await;
    assert_eq!(
        all.headers[header::CONTENT_DISPOSITION],
        "attachment; filename=\"feeds-everyone.ics\"; filename*=UTF-8''feeds-everyone.ics"
    );
    let all = starts(&all.text);
    assert!(!all.is_empty() && all.len() <= of_carers, "{} of {of_carers}", all.len());
    let nobody = house.get(&format!("{at}/timetable/feeds.ics?carer=Nobody")).await;
    assert_eq!(nobody.status, StatusCode::NOT_FOUND);
}

#[tokio::test]
async fn a_name_with_every_mark_breaks_neither_header_nor_file() {
    let mut house = House::new().await;
    let at = working_household(&mut house).await;
    let name = "Ö\"; x=\\../<b>,&# 名";
    let answer = house.post(&format!("{at}/settings"), &[("what", "carer"), ("name", name)]).await;
    assert_eq!(answer.status, StatusCode::SEE_OTHER, "{}", answer.text);
    let page = house.page(&format!("{at}/timetable")).await;
    assert!(!page.contains("<b>") && page.contains("&lt;b&gt;"), "{page}");
    let coded = "%C3%96%22%3B%20x%3D%5C..%2F%3Cb%3E%2C%26%23%20%E5%90%8D";
    assert!(between(&page, "feeds.ics?carer=%", "\"").starts_with(&coded[1..]), "{page}");
    let answer = house.get(&format!("{at}/timetable/feeds.ics?carer={coded}")).await;
    assert_eq!(answer.status, StatusCode::OK, "{}", answer.text);
    // As urllib.parse.quote of Python writes it.
    assert_eq!(
        answer.headers[header::CONTENT_DISPOSITION],
        "attachment; filename=\"feeds-----x------b------.ics\"; filename*=UTF-8''feeds-%C3%96---x------b-----%E5%90%8D.ics"
    );
    assert!(answer.text.starts_with("BEGIN:VCALENDAR\r\n") && answer.text.ends_with("END:VCALENDAR\r\n"));
    assert!(!answer.text.contains("x=") && answer.text.lines().all(|line| line.len() <= 75), "{}", answer.text);
}
