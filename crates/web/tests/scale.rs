//! The weighing round with a scale: a made-up device that the test writes reports into.

#![cfg(unix)]

mod support;

use std::fs::File;
use std::io::Write as _;
use std::path::Path;
use std::time::{Duration, Instant};

use axum::http::StatusCode;
use support::{House, between};
use whelpward_core::book::Kind;
use whelpward_web::Devices;

/// A pipe in the place of the device. Reports come every 250 ms, as from a slow scale.
struct Device(File);

impl Device {
    fn make(path: &Path) {
        let done = std::process::Command::new("mkfifo").arg(path).status().unwrap();
        assert!(done.success());
    }

    /// Waits until the program reads.
    fn open(path: &Path) -> Self {
        Self(File::options().write(true).open(path).unwrap())
    }

    fn send(&mut self, report: [u8; 6]) {
        self.0.write_all(&report).unwrap();
        std::thread::sleep(Duration::from_millis(250));
    }

    fn stable(&mut self, grams: u16, times: usize) {
        let [low, high] = grams.to_le_bytes();
        for _ in 0..times {
            self.send([3, 4, 2, 0, low, high]);
        }
    }

    fn empty(&mut self) {
        self.send([3, 2, 2, 0, 0, 0]);
    }
}

/// Asks for a page until it says this.
async fn until(house: &mut House, path: &str, text: &str) -> String {
    let began = Instant::now();
    loop {
        let page = house.page(path).await;
        if page.contains(text) {
            return page;
        }
        assert!(began.elapsed() < Duration::from_secs(30), "no {text} in {page}");
        tokio::time::sleep(Duration::from_millis(50)).await;
    }
}

fn devices(named: &Path) -> Devices {
    Devices::of_this_computer(Some(named.into()))
}

#[tokio::test]
async fn a_settled_weight_stands_in_the_field_once_and_is_saved_as_if_typed() {
    let mut house = House::new().await;
    let at = house.litter(&[("Ash", "180"), ("Birch", "190")]).await;
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("scale");
    Device::make(&path);
    assert!(!house.page(&format!("{at}/weigh")).await.contains("data-scale"), "no scale, nothing about one");
    house.home.follow_scale(devices(&path)).unwrap();
    let mut device = Device::open(&path);
    device.empty();
    device.empty();
    let weigh = format!("{at}/weigh");
    until(&mut house, &weigh, "Ready: put the pup on").await;
    device.send([3, 3, 2, 0, 150, 0]);
    let page = until(&mut house, &weigh, "data-scale=\"moving\"").await;
    assert!(page.contains("150\u{a0}g") && page.contains("name=\"weight\" value=\"\""), "shown, not in the field");

    device.stable(184, 5);
    let page = until(&mut house, &weigh, "data-scale=\"settled\"").await;
    assert!(page.contains("name=\"weight\" value=\"184\""), "{page}");
    let pup = between(&page, "name=\"pup\" value=\"", "\"").to_owned();
    let since = between(&page, "name=\"since\" value=\"", "\"").to_owned();
    let offer = between(&page, "name=\"offer\" value=\"", "\"").to_owned();
    let fields = |offer| [("pup", pup.as_str()), ("since", &since), ("weight", "184"), ("unit", "g"), ("offer", offer)];
    let next = house.saved(&weigh, &fields(&offer)).await;
    assert!(next.contains("Ash: 184\u{a0}g"), "{next}");
    // It still lies there: it is no weight for the next pup.
    assert!(next.contains("name=\"weight\" value=\"\"") && next.contains("take it off"), "{next}");
    device.stable(184, 4);
    assert!(house.page(&weigh).await.contains("name=\"weight\" value=\"\""));
    device.empty();
    device.stable(195, 5);
    until(&mut house, &weigh, "name=\"weight\" value=\"195\"").await;

    // The device goes, and says so; typing goes on.
    drop(device);
    let page = until(&mut house, &weigh, "The scale is gone").await;
    assert!(page.contains("name=\"weight\" value=\"\""));
    // And it comes back by itself.
    let mut device = Device::open(&path);
    device.empty();
    device.empty();
    until(&mut house, &weigh, "Ready: put the pup on").await;
}

#[tokio::test]
async fn before_and_after_nursing_the_scale_is_read_too() {
    let mut house = House::new().await;
    let at = house.litter(&[("Ash", "180")]).await;
    house.pass_minutes(60);
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("scale");
    Device::make(&path);
    let nurse = format!("{at}/nurse");
    assert!(!house.page(&nurse).await.contains("data-scale"), "no scale, nothing about one");
    house.home.follow_scale(devices(&path)).unwrap();
    let mut device = Device::open(&path);
    device.empty();
    device.stable(184, 5);
    let fields = |page: &str| {
        ["pup", "since", "what", "weight", "unit", "offer"]
            .map(|name| (name, between(page, &format!("name=\"{name}\" value=\""), "\"").to_owned()))
    };
    let page = until(&mut house, &nurse, "name=\"weight\" value=\"184\"").await;
    let before = fields(&page);
    let send: Vec<(&str, &str)> = before.iter().map(|(n, v)| (*n, v.as_str())).collect();
    let page = house.saved(&nurse, &send).await;
    assert!(
        page.contains("value=\"after\"") && page.contains("name=\"weight\" value=\"\""),
        "it lies there still: {page}"
    );
    device.empty();
    house.pass_minutes(20);
    device.stable(189, 5);
    let page = until(&mut house, &nurse, "name=\"weight\" value=\"189\"").await;
    let after = fields(&page);
    let mut send: Vec<(&str, &str)> = after.iter().map(|(n, v)| (*n, v.as_str())).collect();
    send.push(("moved", "yes"));
    let page = house.saved(&nurse, &send).await;
    assert!(page.contains("nursed, +5"), "{page}");
    let written = house.store.page_before(i64::MAX, Kind::Advice, 100).await.unwrap();
    let moved = written.iter().find(|fact| fact.kind == Kind::Feed).unwrap().body.get("note").cloned();
    assert_eq!(moved, Some("moved on the scale: middle of three seconds".into()));
}

#[tokio::test]
async fn a_doubtful_weight_is_asked_about_and_does_not_come_up_again() {
    let mut house = House::new().await;
    let at = house.litter(&[("Ash", "180")]).await;
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("scale");
    Device::make(&path);
    house.home.follow_scale(devices(&path)).unwrap();
    let mut device = Device::open(&path);
    device.empty();
    device.stable(1840, 5);
    let weigh = format!("{at}/weigh");
    let page = until(&mut house, &weigh, "name=\"weight\" value=\"1840\"").await;
    let pup = between(&page, "name=\"pup\" value=\"", "\"").to_owned();
    let offer = between(&page, "name=\"offer\" value=\"", "\"").to_owned();
    let fields = [("pup", pup.as_str()), ("weight", "1840"), ("unit", "g"), ("offer", &offer)];
    let asked = house.post(&weigh, &fields).await;
    assert_eq!(asked.status, StatusCode::CONFLICT, "{}", asked.text);
    assert!(house.page(&weigh).await.contains("name=\"weight\" value=\"\""), "weigh again means again");
}

#[tokio::test]
async fn a_scale_that_is_named_and_not_there_says_so_and_typing_works() {
    let mut house = House::new().await;
    let at = house.litter(&[("Ash", "180")]).await;
    house.home.follow_scale(devices(Path::new("/nowhere/hidraw9"))).unwrap();
    let weigh = format!("{at}/weigh");
    let page = until(&mut house, &weigh, "There is nothing at /nowhere/hidraw9").await;
    let pup = between(&page, "name=\"pup\" value=\"", "\"").to_owned();
    let page = house.saved(&weigh, &[("pup", &pup), ("weight", "184"), ("unit", "g"), ("offer", "")]).await;
    assert!(page.contains("Ash: 184\u{a0}g"), "{page}");
}
