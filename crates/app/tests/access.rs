//! Letting people in, told to both databases: the password, links, handing over, signing out.

use jiff::{SignedDuration, Timestamp};
use whelpward_app::access::{self, By, Denied, Role};
use whelpward_store::{LinkKind, Store};

fn time(text: &str) -> Timestamp {
    text.parse().unwrap()
}

const PASSWORD: &str = "four plain words here";

async fn story(store: &Store) {
    let by = By::default();
    let now = time("2026-11-25T20:00:00Z");
    let later = |minutes: i64| now + SignedDuration::from_mins(minutes);

    // Without a password nobody signs in; a short one is refused; the right one lets in.
    assert!(!access::has_password(store).await.unwrap());
    let sign_in = async |password: &str, at| access::sign_in(store, &by, password.into(), "desk".into(), at).await;
    assert!(matches!(sign_in(PASSWORD, now).await, Err(Denied::NoSecret)));
    assert!(matches!(access::set_password(store, &by, "short".into(), None, now).await, Err(Denied::App(_))));
    access::set_password(store, &by, PASSWORD.into(), None, now).await.unwrap();
    let breeder = sign_in(PASSWORD, now).await.unwrap();
    let seen = access::signed_in(store, &breeder, now).await.unwrap().unwrap();
    assert_eq!(seen.role, Role::Breeder);
    assert!(access::signed_in(store, "made up", now).await.unwrap().is_none());

    // Five wrong ones, and even the right one waits a minute.
    for _ in 0..5 {
        assert!(matches!(sign_in("something else", now).await, Err(Denied::Wrong)));
    }
    assert!(matches!(sign_in(PASSWORD, now).await, Err(Denied::Closed { seconds: 60 })));
    sign_in(PASSWORD, later(1)).await.unwrap();
    assert!(matches!(
        access::set_password(store, &by, "another long one".into(), Some("wrong".into()), now).await,
        Err(Denied::Wrong)
    ));

    // A link lets one phone in, once, for ten minutes.
    let link = access::phone_link(store, &by, "Tom", Role::Carer, now).await.unwrap();
    access::open_link(store, LinkKind::Phone, &link, now).await.unwrap();
    let tom = access::join(store, &by, &link, "Android".into(), now).await.unwrap();
    let of_tom = access::signed_in(store, &tom, now).await.unwrap().unwrap();
    assert_eq!((of_tom.role, of_tom.device.carer.as_str()), (Role::Carer, "Tom"));
    assert_ne!(tom, link);
    assert!(matches!(access::join(store, &by, &link, String::new(), now).await, Err(Denied::LinkUsed)));
    let link = access::phone_link(store, &by, "Lena", Role::Helper, now).await.unwrap();
    assert!(matches!(access::join(store, &by, &link, String::new(), later(10)).await, Err(Denied::LinkOver)));
    assert!(matches!(access::join(store, &by, "0123", String::new(), now).await, Err(Denied::NoSuchLink)));
    // Two at once: one gets in.
    let (one, two) = tokio::join!(
        access::join(store, &by, &link, String::new(), later(1)),
        access::join(store, &by, &link, String::new(), later(1))
    );
    assert_eq!(usize::from(one.is_ok()) + usize::from(two.is_ok()), 1, "{one:?} {two:?}");
    let lena = one.or(two).unwrap();

    // On Lena's phone Tom may more than it was let in for: only with a PIN, and 5 wrong ones wait.
    let phone = access::signed_in(store, &lena, later(1)).await.unwrap().unwrap().device;
    let hand_over = async |to: &str, pin: &str, at| access::hand_over(store, &by, &phone, to, pin, at).await;
    assert!(matches!(hand_over("Tom", "", later(1)).await, Err(Denied::NeedsPin)));
    assert!(matches!(hand_over("Nobody", "", later(1)).await, Err(Denied::NoSuchPerson)));
    assert!(matches!(access::set_pin(store, &by, "Tom", "12", "", now).await, Err(Denied::App(_))));
    access::set_pin(store, &by, "Tom", "2468", "", now).await.unwrap();
    assert!(matches!(access::set_pin(store, &by, "Tom", "1111", "9999", now).await, Err(Denied::Wrong)));
    hand_over("Tom", "2468", later(2)).await.unwrap();
    assert_eq!(access::signed_in(store, &lena, later(2)).await.unwrap().unwrap().role, Role::Carer);
    hand_over("Lena", "", later(2)).await.unwrap();
    // All at once: no more than five are looked at.
    let tries = futures(20, || hand_over("Tom", "0000", later(3))).await;
    assert_eq!(tries.iter().filter(|t| matches!(t, Err(Denied::Wrong))).count(), 5);
    assert_eq!(tries.iter().filter(|t| matches!(t, Err(Denied::Closed { .. }))).count(), 15);
    assert!(matches!(hand_over("Tom", "2468", later(3)).await, Err(Denied::Closed { .. })));
    hand_over("Tom", "2468", later(5)).await.unwrap();
    hand_over("Lena", "", later(5)).await.unwrap();
    access::put_person(store, &by, "Ann", Role::Breeder, now).await.unwrap();
    assert!(matches!(hand_over("Ann", "2468", later(5)).await, Err(Denied::NeedsPassword)));

    // A session slides for 60 days from when it was last seen, and no further.
    let days = |n: i64| later(n * 24 * 60);
    assert!(access::signed_in(store, &tom, days(59)).await.unwrap().is_some());
    assert!(access::signed_in(store, &tom, days(118)).await.unwrap().is_some());
    assert!(access::signed_in(store, &lena, days(118)).await.unwrap().is_none());

    // Signed out is out; who is taken out of the household is out as well.
    access::sign_out(store, &by, Some(&of_tom.device.id), days(118)).await.unwrap();
    assert!(access::signed_in(store, &tom, days(118)).await.unwrap().is_none());
    let link = access::phone_link(store, &by, "Kim", Role::Reader, days(118)).await.unwrap();
    let kim = access::join(store, &by, &link, String::new(), days(118)).await.unwrap();
    access::remove_person(store, &by, "Kim", days(118)).await.unwrap();
    assert!(access::signed_in(store, &kim, days(118)).await.unwrap().is_none());

    // The vet's link is another kind, for 7 days at most, and can be taken back.
    let litter = "01890a5d-ac96-774b-bcce-b302099a8057".parse().unwrap();
    assert!(access::vet_link(store, &by, litter, ("Clover", 8), now).await.is_err());
    let vet = access::vet_link(store, &by, litter, ("Clover", 7), now).await.unwrap();
    assert!(matches!(access::join(store, &by, &vet, String::new(), now).await, Err(Denied::NoSuchLink)));
    let link = access::open_link(store, LinkKind::Vet, &vet, days(6)).await.unwrap();
    assert_eq!(link.litter, litter.to_string());
    assert!(matches!(access::open_link(store, LinkKind::Vet, &vet, days(7)).await, Err(Denied::LinkOver)));
    access::end_link(store, &by, &link.id, now).await.unwrap();
    assert!(matches!(access::open_link(store, LinkKind::Vet, &vet, now).await, Err(Denied::LinkOver)));

    // All of it stands in the audit, and no token or password does.
    let lines = store.audit_before(i64::MAX, 100).await.unwrap();
    for what in
        ["password-set", "signed-in", "link-made", "handed-over", "signed-out", "person-removed", "vet-link-made"]
    {
        assert!(lines.iter().any(|l| l.entry.what == what), "{what}");
    }
    let text = format!("{lines:?}");
    for hidden in [PASSWORD, tom.as_str(), vet.as_str(), "2468"] {
        assert!(!text.contains(hidden));
    }
    assert!(lines.windows(2).all(|pair| pair[0].seq > pair[1].seq));
    let older = store.audit_before(lines[2].seq, 2).await.unwrap();
    assert_eq!(older, lines[3..5]);
}

/// Runs the same work many times at once.
async fn futures<T, F: Future<Output = T>>(count: usize, work: impl Fn() -> F) -> Vec<T> {
    let mut running: Vec<_> = (0..count).map(|_| Box::pin(work())).collect();
    let mut done = Vec::new();
    std::future::poll_fn(|context| {
        running.retain_mut(|one| match one.as_mut().poll(context) {
            std::task::Poll::Ready(value) => {
                done.push(value);
                false
            }
            std::task::Poll::Pending => true,
        });
        if running.is_empty() { std::task::Poll::Ready(()) } else { std::task::Poll::Pending }
    })
    .await;
    done
}

#[tokio::test]
async fn fifty_devices_and_no_more() {
    let folder = tempfile::tempdir().unwrap();
    let store = Store::open_sqlite(&folder.path().join("book.sqlite")).await.unwrap();
    let (by, now) = (By::default(), time("2026-11-25T20:00:00Z"));
    for _ in 0..access::MOST_DEVICES {
        let link = access::phone_link(&store, &by, "Tom", Role::Carer, now).await.unwrap();
        access::join(&store, &by, &link, String::new(), now).await.unwrap();
    }
    let link = access::phone_link(&store, &by, "Tom", Role::Carer, now).await.unwrap();
    let refused = access::join(&store, &by, &link, String::new(), now).await;
    assert!(matches!(refused, Err(Denied::TooManyDevices)));
    access::sign_out(&store, &by, None, now).await.unwrap();
    access::join(&store, &by, &link, String::new(), now).await.unwrap();
}

#[tokio::test]
async fn sqlite_tells_the_story() {
    let folder = tempfile::tempdir().unwrap();
    story(&Store::open_sqlite(&folder.path().join("book.sqlite")).await.unwrap()).await;
}

#[tokio::test]
#[ignore = "needs WHELPWARD_TEST_POSTGRES; scripts/test starts one"]
async fn postgres_tells_the_story() {
    use sqlx::Executor as _;
    let server = std::env::var("WHELPWARD_TEST_POSTGRES").expect("WHELPWARD_TEST_POSTGRES names a PostgreSQL server");
    sqlx::any::install_default_drivers();
    let name = format!("access_{}", std::process::id());
    let pool = sqlx::AnyPool::connect(&format!("{server}/postgres")).await.unwrap();
    pool.execute(sqlx::AssertSqlSafe(format!("CREATE DATABASE {name}"))).await.unwrap();
    pool.close().await;
    story(&Store::open(&format!("{server}/{name}")).await.unwrap()).await;
}
