//! The clock of the computer that serves: what the breeder hears of it, and nobody else.

mod support;

use std::sync::{Arc, Mutex};
use std::time::Duration;

use support::{AT, House, phone, places};
use whelpward_app::access::Role;
use whelpward_web::{HomeNetwork, NetworkTime, ServerClock};

#[tokio::test]
async fn a_jump_is_shown_to_the_breeder_for_a_day_and_a_clock_that_nobody_sets_always() {
    let steady = Arc::new(Mutex::new(Duration::ZERO));
    let network_time = Arc::new(Mutex::new(NetworkTime::NotKnown));
    let (steady_of, time_of) = (Arc::clone(&steady), Arc::clone(&network_time));
    let clock = Arc::new(ServerClock::new(move || Some(*steady_of.lock().unwrap()), move || *time_of.lock().unwrap()));
    let given = Arc::clone(&clock);
    let network = HomeNetwork::new(places("http", AT), None);
    let house = House::with(|home| home.over_home_network(network).with_server_clock(given)).await;
    let mut ann = phone(&house, "Ann", Role::Breeder).await;
    let mut tom = phone(&house, "Tom", Role::Carer).await;
    let litter = [("name", "Clover"), ("breed", "Maltese"), ("scale_step_g", "1"), ("time_zone", "Europe/Berlin")];
    let now = ann.post("/new", "/new", &litter).await.location();
    let settings = now.replace("/now", "/settings");
    let pass = |minutes: u64, is_by_the_wall_too: bool| {
        *steady.lock().unwrap() += Duration::from_mins(minutes);
        if is_by_the_wall_too {
            house.pass_minutes(i64::try_from(minutes).unwrap());
        }
        clock.look(house.now())
    };

    pass(1, true);
    assert!(!ann.get(&now).await.text.contains("computer's clock"), "nothing is wrong");
    assert!(ann.get(&settings).await.text.contains("Whether the network sets it is not known here. It says 21:01"));
    // The wall clock stood still for seven minutes: it was set back.
    assert!(pass(7, false).is_some());
    let page = ann.get(&now).await.text.replace('\u{a0}', " ");
    assert!(page.contains("This computer's clock jumped back by 7 min at 21:01. It now says 21:01"), "{page}");
    assert!(!tom.get(&now).await.text.contains("clock jumped"), "a carer cannot set it");
    pass(24 * 60, true);
    assert!(!ann.get(&now).await.text.contains("clock jumped"));

    *network_time.lock().unwrap() = NetworkTime::NotSet;
    for page in [&now, &settings] {
        let page = ann.get(page).await.text;
        assert!(page.contains("has not been set by the network since it was started. It says"), "{page}");
    }
    assert!(!tom.get(&now).await.text.contains("has not been set"));
    *network_time.lock().unwrap() = NetworkTime::Set;
    assert!(!ann.get(&now).await.text.contains("has not been set"));
}
