//! Finds the scale among the devices of this computer and reads it, for as long as it is there.
//!
//! One thread that waits in a plain read: the kernel hands over one report at a time. It only
//! reads; nothing is ever sent to the scale.

use std::fs::File;
use std::io::{ErrorKind, Read as _};
use std::path::{Path, PathBuf};
use std::sync::{Arc, Weak};
use std::time::Duration;

use whelpward_core::scale::{DataReport, is_scale};

use super::Scale;
use crate::words::{say, tell};

/// How often a scale that is not there is looked for.
const AGAIN: Duration = Duration::from_secs(2);

/// Where scales are looked for.
#[derive(Debug, Clone)]
pub struct Devices {
    /// This one and no other.
    pub named: Option<PathBuf>,
    /// What the kernel says of its raw HID devices.
    pub described: PathBuf,
    pub devices: PathBuf,
}

impl Devices {
    /// The places of Linux. Elsewhere there are none, and a scale has to be named.
    #[must_use]
    pub fn of_this_computer(named: Option<PathBuf>) -> Self {
        Self { named, described: "/sys/class/hidraw".into(), devices: "/dev".into() }
    }

    fn find(&self) -> Option<Found> {
        if let Some(path) = &self.named {
            let described = path.file_name().map(|name| self.described.join(name));
            return Some(described.map_or_else(|| Found::at(path.clone()), |d| Found::described(path.clone(), &d)));
        }
        let mut names: Vec<_> = std::fs::read_dir(&self.described).ok()?.flatten().map(|d| d.file_name()).collect();
        names.sort();
        names.into_iter().find_map(|name| {
            let described = self.described.join(&name);
            let text = std::fs::read(described.join("device/report_descriptor")).ok()?;
            is_scale(&text).then(|| Found::described(self.devices.join(&name), &described))
        })
    }
}

/// A device that may be a scale.
#[derive(Debug, PartialEq, Eq)]
struct Found {
    path: PathBuf,
    layout: DataReport,
    /// The device's own numbers, for the rule that lets a user read it.
    vendor_product: Option<(String, String)>,
}

impl Found {
    fn at(path: PathBuf) -> Self {
        Self { path, layout: DataReport::default(), vendor_product: None }
    }

    fn described(path: PathBuf, described: &Path) -> Self {
        let layout = std::fs::read(described.join("device/report_descriptor")).ok();
        let about = std::fs::read_to_string(described.join("device/uevent")).unwrap_or_default();
        Self {
            layout: layout.and_then(|text| DataReport::of(&text)).unwrap_or_default(),
            vendor_product: vendor_product(&about),
            path,
        }
    }
}

/// From `HID_ID=0003:0000ABCD:00001234`: bus, vendor, product.
fn vendor_product(about: &str) -> Option<(String, String)> {
    let id = about.lines().find_map(|line| line.strip_prefix("HID_ID="))?;
    let mut parts = id.split(':').skip(1).map(|part| {
        let is_hex = part.len() >= 4 && part.bytes().all(|b| b.is_ascii_hexdigit());
        is_hex.then(|| part[part.len() - 4..].to_lowercase())
    });
    Some((parts.next()??, parts.next()??))
}

/// Reads the scale on a thread of its own, until nobody holds it any more.
///
/// # Errors
/// The thread cannot be started.
pub fn follow(scale: &Arc<Scale>, devices: Devices) -> std::io::Result<()> {
    let scale = Arc::downgrade(scale);
    std::thread::Builder::new().name("scale".into()).spawn(move || {
        let mut told = String::new();
        while let Some(trouble) = once(&scale, &devices) {
            // Told once at the terminal, not every two seconds.
            if trouble != told {
                if !trouble.is_empty() {
                    eprintln!("the scale: {trouble}");
                }
                told = trouble;
            }
            std::thread::sleep(AGAIN);
        }
    })?;
    Ok(())
}

/// Reads until the scale is gone, and says why it is; `None` when nobody asks any more.
fn once(scale: &Weak<Scale>, devices: &Devices) -> Option<String> {
    let Some(found) = devices.find() else {
        let scale = scale.upgrade()?;
        // A scale that was there and is not listed any more was unplugged or switched itself off.
        if scale.view(whelpward_core::units::WeightUnit::Gram).is_some() {
            scale.lost(say("scale-gone"));
        } else {
            scale.is_not_there();
        }
        return Some(String::new());
    };
    let (text, for_the_terminal) = match listen(scale, &found) {
        None => return None,
        Some(error) => why(&found, &error),
    };
    scale.upgrade()?.lost(text);
    Some(for_the_terminal)
}

/// Hands over each report; gives the error that ended it.
fn listen(scale: &Weak<Scale>, found: &Found) -> Option<std::io::Error> {
    let mut file = match File::open(&found.path) {
        Ok(file) => file,
        Err(error) => return Some(error),
    };
    let mut bytes = [0; 64];
    let mut is_first = true;
    loop {
        match file.read(&mut bytes) {
            Ok(0) => return Some(ErrorKind::UnexpectedEof.into()),
            Ok(length) => {
                let scale = scale.upgrade()?;
                if is_first {
                    // The first report after opening may be an old one; it only shows that the
                    // scale is there.
                    scale.opened();
                    is_first = false;
                } else {
                    scale.hear(found.layout, &bytes[..length]);
                }
            }
            Err(error) if error.kind() == ErrorKind::Interrupted => {}
            Err(error) => return Some(error),
        }
    }
}

/// One sentence for the page, and one for the terminal that may be longer.
fn why(found: &Found, error: &std::io::Error) -> (String, String) {
    let place = [("place", found.path.display().to_string().into())];
    let text = match error.kind() {
        ErrorKind::PermissionDenied => tell("scale-not-allowed", &place),
        ErrorKind::NotFound => tell("scale-not-there", &place),
        ErrorKind::ResourceBusy => tell("scale-busy", &place),
        _ => say("scale-gone"),
    };
    let terminal = match (error.kind(), &found.vendor_product) {
        (ErrorKind::PermissionDenied, Some((vendor, product))) => {
            format!("{text}\n{}", udev_rule(vendor, product))
        }
        _ => format!("{text} ({error})"),
    };
    (text, terminal)
}

/// Lets the person at this computer read this scale, and no other device.
fn udev_rule(vendor: &str, product: &str) -> String {
    format!(
        "KERNEL==\"hidraw*\", ATTRS{{idVendor}}==\"{vendor}\", ATTRS{{idProduct}}==\"{product}\", \
         MODE=\"0660\", TAG+=\"uaccess\""
    )
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Usage page "weighing devices", and a report 5 with the weight.
    const DESCRIBED: &[u8] = &[0x05, 0x8D, 0x09, 0x20, 0xA1, 0x01, 0x85, 0x05, 0x09, 0x40, 0x81, 0x02, 0xC0];

    #[test]
    fn the_scale_is_found_by_what_it_says_of_itself() {
        let sys = tempfile::tempdir().unwrap();
        let device = |name: &str, text: &[u8], about: &str| {
            let folder = sys.path().join(name).join("device");
            std::fs::create_dir_all(&folder).unwrap();
            std::fs::write(folder.join("report_descriptor"), text).unwrap();
            std::fs::write(folder.join("uevent"), about).unwrap();
        };
        device("hidraw0", &[0x05, 0x01, 0x09, 0x02], "HID_ID=0003:0000AAAA:0000BBBB\n");
        let devices = |named: Option<&str>| Devices {
            named: named.map(PathBuf::from),
            described: sys.path().into(),
            devices: "/dev".into(),
        };
        assert_eq!(devices(None).find(), None, "a mouse is no scale");
        device("hidraw1", DESCRIBED, "DRIVER=x\nHID_ID=0003:00001209:0000BEEF\nHID_NAME=y\n");
        let expected = Found {
            path: "/dev/hidraw1".into(),
            layout: DataReport::Numbered(5),
            vendor_product: Some(("1209".into(), "beef".into())),
        };
        assert_eq!(devices(None).find(), Some(expected));
        // A named device is taken as it is; report 3 where nothing is said.
        let named = devices(Some("/elsewhere/fifo")).find().unwrap();
        assert_eq!((named.layout, named.vendor_product), (DataReport::Numbered(3), None));
    }

    #[test]
    fn each_trouble_is_one_clear_sentence_and_the_rule_names_this_device_only() {
        let found = Found {
            path: "/dev/hidraw1".into(),
            layout: DataReport::default(),
            vendor_product: Some(("1209".into(), "beef".into())),
        };
        for kind in [
            ErrorKind::PermissionDenied,
            ErrorKind::NotFound,
            ErrorKind::ResourceBusy,
            ErrorKind::UnexpectedEof,
            ErrorKind::Other,
        ] {
            let (text, terminal) = why(&found, &kind.into());
            assert!(text.ends_with('.') && text.contains(": "), "{text}");
            assert_eq!(terminal.contains("idProduct"), kind == ErrorKind::PermissionDenied, "{terminal}");
        }
        let rule = udev_rule("1209", "beef");
        assert!(rule.contains("ATTRS{idVendor}==\"1209\"") && rule.contains("ATTRS{idProduct}==\"beef\""));
        assert!(!rule.contains("0666"), "{rule}");
    }
}
