//! Letting people in over the home network: the password of the household, links for phones and for
//! a vet, who holds a device, signing out. What is done here is written into the audit.

mod may;
mod secret;

pub use may::{Action, May, Role, TABLE};
pub use secret::{PIN_DIGITS, SHORTEST_PASSWORD};

use jiff::{SignedDuration, Timestamp};
use whelpward_core::book::FactId;
use whelpward_store::{AuditEntry, Device, Link, LinkKind, Store, StoreError};

use crate::AppError;
use secret::{hash, is_right, kept, new_token};

/// Who does something about people and devices, for the audit.
#[derive(Debug, Clone, Default)]
pub struct By {
    pub device: String,
    pub carer: String,
    pub address: String,
}

/// Why somebody is not let in.
#[derive(Debug, thiserror::Error)]
pub enum Denied {
    #[error("no password is set")]
    NoSecret,
    #[error("wrong")]
    Wrong,
    #[error("too many wrong tries; wait {seconds} s")]
    Closed { seconds: i64 },
    #[error("there is no such link")]
    NoSuchLink,
    #[error("the link was used already")]
    LinkUsed,
    #[error("the link is too old, or was taken back")]
    LinkOver,
    #[error("{MOST_DEVICES} devices are let in already")]
    TooManyDevices,
    #[error("nobody of that name is in the household")]
    NoSuchPerson,
    #[error("this device was let in for less, so it needs a PIN of that person, and there is none")]
    NeedsPin,
    #[error("a breeder signs in with the password")]
    NeedsPassword,
    #[error(transparent)]
    App(#[from] AppError),
}

impl From<StoreError> for Denied {
    fn from(error: StoreError) -> Self {
        Self::App(AppError::Store(error))
    }
}

/// Devices let in at once (usability O-53).
pub const MOST_DEVICES: i64 = 50;
/// A device that is not seen for so long is signed out (usability O-41).
pub const SESSION: SignedDuration = SignedDuration::from_hours(60 * 24);
/// That a device was seen is written down no more often than this.
const SEEN_EVERY: SignedDuration = SignedDuration::from_hours(1);
/// A link for a phone (usability O-40).
pub const PHONE_LINK: SignedDuration = SignedDuration::from_mins(10);
/// A link for a vet, at most (usability O-43).
pub const VET_LINK_DAYS: std::ops::RangeInclusive<i64> = 1..=7;

const HOUSEHOLD: &str = "household";
const LONGEST_NAME: usize = 60;

fn pin_of(name: &str) -> String {
    format!("pin {name}")
}

fn ms_after(now: Timestamp, span: SignedDuration) -> i64 {
    now.saturating_add(span).unwrap_or(Timestamp::MAX).as_millisecond()
}

/// Writes one thing into the audit.
///
/// # Errors
/// The book cannot be written.
pub async fn write_audit(store: &Store, by: &By, what: &str, detail: &str, now: Timestamp) -> Result<(), AppError> {
    let (device, carer, address) = (by.device.clone(), by.carer.clone(), by.address.clone());
    let entry = AuditEntry { at: now, device, carer, address, what: what.into(), detail: detail.into() };
    Ok(store.write_audit(&entry).await?)
}

/// Whether the household has a password, without which nobody is let in over the network.
///
/// # Errors
/// The book cannot be read.
pub async fn has_password(store: &Store) -> Result<bool, AppError> {
    Ok(store.has_secret(HOUSEHOLD).await?)
}

/// Sets the password of the household. `before` is the one to be replaced, where it must be known.
///
/// # Errors
/// It is too short, or the one before is wrong.
pub async fn set_password(
    store: &Store,
    by: &By,
    password: String,
    before: Option<String>,
    now: Timestamp,
) -> Result<(), Denied> {
    if password.chars().count() < SHORTEST_PASSWORD {
        let what = format!("a password of {} characters", password.chars().count());
        return Err(AppError::refused(what, format!("at least {SHORTEST_PASSWORD}, such as four words")).into());
    }
    if let Some(before) = before {
        is_right(store, HOUSEHOLD, before, now).await?;
    }
    store.put_secret(HOUSEHOLD, &hash(password).await?, now.as_millisecond()).await?;
    write_audit(store, by, "password-set", "", now).await?;
    Ok(())
}

/// A device as it asks now, with the role that it has.
#[derive(Debug, Clone)]
pub struct SignedIn {
    pub device: Device,
    pub role: Role,
    /// The cookie is to be renewed.
    pub is_renewed: bool,
}

/// The device with this token, if it is let in.
///
/// # Errors
/// The book cannot be read.
pub async fn signed_in(store: &Store, token: &str, now: Timestamp) -> Result<Option<SignedIn>, AppError> {
    let Some(mut device) = store.device(&kept(token), now.as_millisecond()).await? else { return Ok(None) };
    let word = if device.carer.is_empty() { &device.role } else { &device.carer_role };
    let Some(role) = Role::from_word(word) else { return Ok(None) };
    let is_renewed = now.as_millisecond() - device.seen_ms >= i64::try_from(SEEN_EVERY.as_millis()).unwrap_or(0);
    if is_renewed {
        device.seen_ms = now.as_millisecond();
        device.ends_ms = ms_after(now, SESSION);
        store.saw_device(&device.id, device.seen_ms, device.ends_ms).await?;
    }
    Ok(Some(SignedIn { device, role, is_renewed }))
}

/// Lets a device in and gives its token, which is kept nowhere.
async fn let_in(
    store: &Store,
    by: &By,
    (label, role, carer): (String, Role, String),
    now: Timestamp,
) -> Result<String, Denied> {
    let token = new_token::<32>();
    let device = Device {
        id: format!("phone-{}", new_token::<4>()),
        label,
        role: role.word().into(),
        carer,
        carer_role: String::new(),
        added_ms: now.as_millisecond(),
        seen_ms: now.as_millisecond(),
        ends_ms: ms_after(now, SESSION),
    };
    if !store.add_device(&device, &kept(&token), MOST_DEVICES, now.as_millisecond()).await? {
        return Err(Denied::TooManyDevices);
    }
    let by = By { device: device.id, carer: device.carer, address: by.address.clone() };
    write_audit(store, &by, "signed-in", &format!("{} ({})", device.label, role.word()), now).await?;
    Ok(token)
}

/// Signs a device in by the password of the household; gives its token.
///
/// # Errors
/// The password is wrong, or was wrong too often.
pub async fn sign_in(
    store: &Store,
    by: &By,
    password: String,
    label: String,
    now: Timestamp,
) -> Result<String, Denied> {
    is_right(store, HOUSEHOLD, password, now).await?;
    let_in(store, by, (label, Role::Breeder, String::new()), now).await
}

/// A name as a person of the household may have it.
fn name_of(name: &str) -> Result<String, AppError> {
    let name = name.trim();
    let is_fine = (1..=LONGEST_NAME).contains(&name.chars().count()) && !name.chars().any(char::is_control);
    if is_fine { Ok(name.to_owned()) } else { Err(AppError::refused("this name", "1 to 60 characters")) }
}

/// Adds a person or gives one another role.
///
/// # Errors
/// The name does not read.
pub async fn put_person(store: &Store, by: &By, name: &str, role: Role, now: Timestamp) -> Result<(), AppError> {
    let name = name_of(name)?;
    store.put_person(&name, role.word(), now.as_millisecond()).await?;
    write_audit(store, by, "role-set", &format!("{name}: {}", role.word()), now).await
}

/// Takes a person out of the household; the devices in that person's hand are signed out.
///
/// # Errors
/// The book cannot be written.
pub async fn remove_person(store: &Store, by: &By, name: &str, now: Timestamp) -> Result<(), AppError> {
    store.remove_person(name, now.as_millisecond()).await?;
    write_audit(store, by, "person-removed", name, now).await
}

/// Makes a link that lets one phone in for a person; gives its token, which is kept nowhere.
///
/// # Errors
/// The name does not read.
pub async fn phone_link(store: &Store, by: &By, name: &str, role: Role, now: Timestamp) -> Result<String, AppError> {
    let name = name_of(name)?;
    store.put_person(&name, role.word(), now.as_millisecond()).await?;
    let token = new_token::<16>();
    let link = new_link(&name, role, String::new(), now, ms_after(now, PHONE_LINK));
    store.add_link(LinkKind::Phone, &link, &kept(&token)).await?;
    write_audit(store, by, "link-made", &format!("{name} ({})", role.word()), now).await?;
    Ok(token)
}

fn new_link(name: &str, role: Role, litter: String, now: Timestamp, ends_ms: i64) -> Link {
    Link {
        id: format!("link-{}", new_token::<8>()),
        name: name.to_owned(),
        role: role.word().into(),
        litter,
        made_ms: now.as_millisecond(),
        ends_ms,
        used_ms: 0,
        ended_ms: 0,
    }
}

/// The link with this token, if it still opens something. Looking spends nothing.
///
/// # Errors
/// There is none, it was used, or it is over.
pub async fn open_link(store: &Store, kind: LinkKind, token: &str, now: Timestamp) -> Result<Link, Denied> {
    let link = store.link(kind, &kept(token)).await?.ok_or(Denied::NoSuchLink)?;
    if link.used_ms != 0 {
        return Err(Denied::LinkUsed);
    }
    if link.ended_ms != 0 || link.ends_ms <= now.as_millisecond() {
        return Err(Denied::LinkOver);
    }
    Ok(link)
}

/// Spends a link for a phone and lets the phone in; gives the phone's token.
///
/// # Errors
/// As for [`open_link`]; or there are too many devices, and the link stays as it is.
pub async fn join(store: &Store, by: &By, token: &str, label: String, now: Timestamp) -> Result<String, Denied> {
    let link = open_link(store, LinkKind::Phone, token, now).await?;
    let role = Role::from_word(&link.role).ok_or(Denied::LinkOver)?;
    if i64::try_from(store.devices(now.as_millisecond()).await?.len()).unwrap_or(i64::MAX) >= MOST_DEVICES {
        return Err(Denied::TooManyDevices);
    }
    // Of several who press at once, one gets in.
    if !store.spend_link(&link.id, now.as_millisecond()).await? {
        return Err(Denied::LinkUsed);
    }
    let label = if label.is_empty() { link.name.clone() } else { format!("{}, {label}", link.name) };
    let_in(store, by, (label, role, link.name), now).await
}

/// Makes a link under which a vet sees one litter's page; gives its token, which is kept nowhere.
///
/// # Errors
/// The days are not allowed.
pub async fn vet_link(
    store: &Store,
    by: &By,
    litter: FactId,
    (litter_name, days): (&str, i64),
    now: Timestamp,
) -> Result<String, AppError> {
    if !VET_LINK_DAYS.contains(&days) {
        return Err(AppError::refused(format!("{days} days"), "1 to 7 days"));
    }
    let token = new_token::<16>();
    let ends = ms_after(now, SignedDuration::from_hours(24 * days));
    let link = new_link(litter_name, Role::Reader, litter.to_string(), now, ends);
    store.add_link(LinkKind::Vet, &link, &kept(&token)).await?;
    write_audit(store, by, "vet-link-made", litter_name, now).await?;
    Ok(token)
}

/// Takes a link back.
///
/// # Errors
/// The book cannot be written.
pub async fn end_link(store: &Store, by: &By, id: &str, now: Timestamp) -> Result<(), AppError> {
    if store.end_link(id, now.as_millisecond()).await? {
        write_audit(store, by, "link-ended", id, now).await?;
    }
    Ok(())
}

/// Another person takes the device over. A person with a PIN types it. Who may more than the device was
/// let in for must have a PIN, and a breeder signs in with the password instead.
///
/// # Errors
/// The PIN is wrong or missing.
pub async fn hand_over(
    store: &Store,
    by: &By,
    device: &Device,
    to: &str,
    pin: &str,
    now: Timestamp,
) -> Result<(), Denied> {
    let people = store.people().await?;
    let person = people.iter().find(|p| p.name == to).ok_or(Denied::NoSuchPerson)?;
    let role = Role::from_word(&person.role).ok_or(Denied::NoSuchPerson)?;
    let is_more = Role::from_word(&device.role).is_none_or(|let_in_for| role > let_in_for);
    match (is_more, role, person.has_pin) {
        (true, Role::Breeder, _) => return Err(Denied::NeedsPassword),
        (true, _, false) => return Err(Denied::NeedsPin),
        (_, _, true) => is_right(store, &pin_of(to), pin.to_owned(), now).await?,
        (false, _, false) => {}
    }
    store.hand_over(&device.id, to).await?;
    write_audit(store, by, "handed-over", to, now).await?;
    Ok(())
}

/// Sets the PIN of a person who types the one before, if there is one.
///
/// # Errors
/// It is not 4 to 6 digits, or the one before is wrong.
pub async fn set_pin(
    store: &Store,
    by: &By,
    name: &str,
    pin: &str,
    before: &str,
    now: Timestamp,
) -> Result<(), Denied> {
    if !PIN_DIGITS.contains(&pin.len()) || !pin.bytes().all(|b| b.is_ascii_digit()) {
        return Err(AppError::refused("this PIN", "4 to 6 digits").into());
    }
    let owner = pin_of(name);
    if store.has_secret(&owner).await? {
        is_right(store, &owner, before.to_owned(), now).await?;
    }
    store.put_secret(&owner, &hash(pin.to_owned()).await?, now.as_millisecond()).await?;
    write_audit(store, by, "pin-set", name, now).await?;
    Ok(())
}

/// Removes the PIN of a person who has forgotten it.
///
/// # Errors
/// The book cannot be written.
pub async fn remove_pin(store: &Store, by: &By, name: &str, now: Timestamp) -> Result<(), AppError> {
    store.remove_secret(&pin_of(name)).await?;
    write_audit(store, by, "pin-removed", name, now).await
}

/// Signs one device out, or every one.
///
/// # Errors
/// The book cannot be written.
pub async fn sign_out(store: &Store, by: &By, id: Option<&str>, now: Timestamp) -> Result<(), AppError> {
    let labels = store.device_labels().await?;
    if store.sign_out(id, now.as_millisecond()).await? > 0 {
        let label = id.and_then(|id| labels.iter().find(|(i, _)| i == id)).map_or("", |(_, l)| l.as_str());
        let what = if id.is_some() { "signed-out" } else { "all-signed-out" };
        write_audit(store, by, what, label, now).await?;
    }
    Ok(())
}
