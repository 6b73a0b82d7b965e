//! The pages over https, beside plain http and never instead of it: with a certificate that the household
//! signs itself, which each phone has to be told to trust; or with one that lies in files.

mod authority;

use std::collections::BTreeSet;
use std::net::{IpAddr, Ipv4Addr};
use std::path::{Path, PathBuf};
use std::sync::{Arc, Mutex, PoisonError};

use authority::Signed;
use jiff::{Timestamp, ToSpan as _};
use rustls::ServerConfig;
use rustls_pki_types::pem::{self, PemObject as _};
use rustls_pki_types::{CertificateDer, PrivateKeyDer};
use tokio_rustls::TlsAcceptor;

pub use authority::{Authority, AuthorityError};

use crate::access::OwnAddresses;

/// What takes connections over https.
pub struct Https {
    source: Source,
    current: Mutex<Option<Current>>,
}

/// The certificate that is shown now.
struct Current {
    acceptor: TlsAcceptor,
    /// The addresses for which it was last signed, or tried to.
    addresses: Vec<IpAddr>,
    renew_from: Timestamp,
}

enum Source {
    Household {
        authority: Box<Authority>,
        /// This computer, as phones ask for it.
        numbers: Arc<OwnAddresses>,
        names: Vec<String>,
    },
    /// PEM files that somebody else renews.
    Files { certificate: PathBuf, key: PathBuf },
}

/// How often files are read anew, hours (our own).
const FILES_AGAIN_H: i64 = 12;

impl Https {
    /// With the authority of the household in `folder`, for this computer itself and for those of these numbers and
    /// names for which it may sign.
    ///
    /// # Errors
    /// The files of the authority; a name that no certificate can hold.
    pub fn open(
        folder: &Path,
        numbers: Arc<OwnAddresses>,
        names: Vec<String>,
        now: Timestamp,
    ) -> Result<Self, AuthorityError> {
        let authority = Box::new(Authority::open(folder, now)?);
        let names = names.into_iter().chain(["localhost".to_owned()]);
        let names = names.filter(|name| Authority::permits_name(name)).collect();
        Self::of(Source::Household { authority, numbers, names }, now)
    }

    /// With a certificate, the chain behind it, and its key, as PEM files.
    ///
    /// # Errors
    /// The files cannot be read, hold no certificate or no key, or the two do not fit.
    pub fn from_files(certificate: PathBuf, key: PathBuf, now: Timestamp) -> Result<Self, AuthorityError> {
        Self::of(Source::Files { certificate, key }, now)
    }

    fn of(source: Source, now: Timestamp) -> Result<Self, AuthorityError> {
        let https = Self { source, current: Mutex::default() };
        https.acceptor(Ipv4Addr::LOCALHOST.into(), now)?;
        Ok(https)
    }

    /// The household's own authority, which phones must be told to trust.
    pub fn authority(&self) -> Option<&Authority> {
        match &self.source {
            Source::Household { authority, .. } => Some(authority),
            Source::Files { .. } => None,
        }
    }

    /// Whether browsers that trust take this address. A certificate of files counts for names.
    pub fn counts_for_address(&self, address: IpAddr) -> bool {
        self.authority().is_some() && Authority::permits_address(address)
    }

    /// Whether browsers that trust take this name.
    pub fn counts_for_name(&self, name: &str) -> bool {
        self.authority().is_none() || Authority::permits_name(name)
    }

    /// What the certificate should hold, in an order of its own, now that a connection came in at `local`.
    fn addresses(&self, local: IpAddr) -> Vec<IpAddr> {
        let Source::Household { numbers, .. } = &self.source else { return Vec::new() };
        let own = numbers.met_at(local).into_iter().filter(|ip| Authority::permits_address(*ip));
        own.chain([Ipv4Addr::LOCALHOST.into()]).collect::<BTreeSet<_>>().into_iter().collect()
    }

    fn signed(&self, addresses: &[IpAddr], now: Timestamp) -> Result<Signed, AuthorityError> {
        match &self.source {
            Source::Household { authority, names, .. } => authority.sign(addresses, names, now),
            Source::Files { certificate, key } => {
                let unread = |path: &Path| {
                    let path = path.to_owned();
                    move |e: pem::Error| AuthorityError::File { path, why: format!("{e:?}") }
                };
                let chain = CertificateDer::pem_file_iter(certificate)
                    .and_then(Iterator::collect::<Result<Vec<_>, _>>)
                    .map_err(unread(certificate))?;
                if chain.is_empty() {
                    let why = "it holds no certificate as PEM".to_owned();
                    return Err(AuthorityError::File { path: certificate.clone(), why });
                }
                let key = PrivateKeyDer::from_pem_file(key).map_err(unread(key))?;
                Ok(Signed { chain, key, renew_from: now + FILES_AGAIN_H.hours() })
            }
        }
    }

    /// For a connection that came in at `local`. The certificate is signed anew when this computer has other
    /// addresses, and long before it ends, also in a program that runs for months.
    pub(crate) fn acceptor(&self, local: IpAddr, now: Timestamp) -> Result<TlsAcceptor, AuthorityError> {
        let addresses = self.addresses(local);
        let mut current = self.current.lock().unwrap_or_else(PoisonError::into_inner);
        if let Some(held) = &*current
            && now < held.renew_from
            && held.addresses == addresses
        {
            return Ok(held.acceptor.clone());
        }
        let renewed = self.signed(&addresses, now).and_then(|signed| Ok((signed.renew_from, acceptor_of(signed)?)));
        // Such as files of which one is renewed already: the certificate of before counts for some time yet.
        if let (Err(error), Some(held)) = (&renewed, &mut *current) {
            eprintln!("{error}");
            held.renew_from = now + 1.hours();
            held.addresses = addresses;
            return Ok(held.acceptor.clone());
        }
        let (renew_from, acceptor) = renewed?;
        *current = Some(Current { acceptor: acceptor.clone(), addresses, renew_from });
        Ok(acceptor)
    }
}

fn acceptor_of(signed: Signed) -> Result<TlsAcceptor, AuthorityError> {
    let unfit = |e: rustls::Error| AuthorityError::Unfit(e.to_string());
    let config = ServerConfig::builder_with_provider(Arc::new(rustls::crypto::ring::default_provider()))
        .with_safe_default_protocol_versions()
        .map_err(unfit)?
        .with_no_client_auth()
        .with_single_cert(signed.chain, signed.key)
        .map_err(unfit)?;
    Ok(TlsAcceptor::from(Arc::new(config)))
}

#[cfg(test)]
mod tests {
    use rustls::pki_types::ServerName;
    use rustls::{ClientConfig, RootCertStore};
    use tokio_rustls::TlsConnector;

    use super::*;

    fn at(text: &str) -> Timestamp {
        text.parse().unwrap()
    }

    fn numbers(all: &[&str]) -> Vec<IpAddr> {
        all.iter().map(|a| a.parse().unwrap()).collect()
    }

    fn names(all: &[&str]) -> Vec<String> {
        all.iter().map(|n| (*n).to_owned()).collect()
    }

    fn https(folder: &Path, addresses: &[&str], given: &[&str], now: Timestamp) -> Https {
        let addresses = numbers(addresses);
        let own = OwnAddresses::new(move || addresses.clone(), Arc::new(Timestamp::now));
        Https::open(folder, Arc::new(own), names(given), now).unwrap()
    }

    /// What a client that trusts the household's authority says of a connection to `name`.
    async fn shake_hands(https: &Https, name: &str, now: Timestamp) -> Result<(), String> {
        // A connection that is asked for by a number comes in at that number.
        let local = name.parse().unwrap_or(Ipv4Addr::LOCALHOST.into());
        let acceptor = https.acceptor(local, now).unwrap();
        shake_hands_with(https.authority().unwrap(), acceptor, name).await
    }

    async fn shake_hands_with(authority: &Authority, acceptor: TlsAcceptor, name: &str) -> Result<(), String> {
        let mut roots = RootCertStore::empty();
        roots.add(CertificateDer::from_pem_slice(authority.pem.as_bytes()).unwrap()).unwrap();
        let client = ClientConfig::builder_with_provider(Arc::new(rustls::crypto::ring::default_provider()))
            .with_safe_default_protocol_versions()
            .unwrap()
            .with_root_certificates(roots)
            .with_no_client_auth();
        let (here, there) = tokio::io::duplex(16 * 1024);
        let server = tokio::spawn(async move { acceptor.accept(there).await.map(|_| ()) });
        let name = ServerName::try_from(name.to_owned()).unwrap();
        let outcome = TlsConnector::from(Arc::new(client)).connect(name, here).await;
        let _ = server.await;
        outcome.map(|_| ()).map_err(|e| e.to_string())
    }

    #[tokio::test]
    async fn a_client_that_trusts_the_household_takes_its_addresses() {
        let folder = tempfile::tempdir().unwrap();
        let now = Timestamp::now();
        let https = https(folder.path(), &["192.168.1.5", "fd00::5"], &["nursery.local"], now);
        for name in ["192.168.1.5", "fd00::5", "nursery.local"] {
            assert_eq!(shake_hands(&https, name, now).await, Ok(()), "{name}");
        }
        let other = shake_hands(&https, "192.168.1.6", now).await.unwrap_err();
        assert!(other.contains("not valid for name"), "{other}");
    }

    /// A router hands out another number while the program runs.
    #[tokio::test]
    async fn the_certificate_goes_with_the_address_of_this_computer() {
        let folder = tempfile::tempdir().unwrap();
        let now = Timestamp::now();
        let own = Arc::new(Mutex::new(numbers(&["192.168.1.5", "10.0.0.2"])));
        let given = Arc::clone(&own);
        let own_addresses = OwnAddresses::new(move || given.lock().unwrap().clone(), Arc::new(move || now));
        let https = Https::open(folder.path(), Arc::new(own_addresses), names(&["nursery.local"]), now).unwrap();
        let shown = || https.current.lock().unwrap().as_ref().unwrap().acceptor.config().clone();
        let first = shown();
        assert_eq!(shake_hands(&https, "192.168.1.5", now).await, Ok(()));
        // The same two in another order are no change: nothing is signed.
        *own.lock().unwrap() = numbers(&["10.0.0.2", "192.168.1.5"]);
        https.acceptor("10.0.0.99".parse().unwrap(), now).unwrap();
        assert!(Arc::ptr_eq(&first, &shown()), "signed again for nothing");

        *own.lock().unwrap() = numbers(&["192.168.1.77", "10.0.0.2"]);
        for name in ["192.168.1.77", "10.0.0.2", "nursery.local", "localhost", "127.0.0.1"] {
            assert_eq!(shake_hands(&https, name, now).await, Ok(()), "{name}");
        }
        let former = shake_hands(&https, "192.168.1.5", now).await.unwrap_err();
        assert!(former.contains("not valid for name"), "{former}");
        let second = shown();
        assert!(!Arc::ptr_eq(&first, &second));
        for _ in 0..3 {
            assert_eq!(shake_hands(&https, "192.168.1.77", now).await, Ok(()));
        }
        assert!(Arc::ptr_eq(&second, &shown()), "signed once for one change");
        // An address on the internet that this computer has too would spoil the certificate for all others.
        *own.lock().unwrap() = numbers(&["192.168.1.77", "203.0.113.9", "10.0.0.2"]);
        let outside = shake_hands(&https, "203.0.113.9", now).await.unwrap_err();
        assert!(outside.contains("not valid for name"), "{outside}");
        assert!(Arc::ptr_eq(&second, &shown()), "it may not be in the certificate, so nothing changed");
    }

    #[test]
    fn a_signing_that_fails_leaves_the_certificate_of_before() {
        let folder = tempfile::tempdir().unwrap();
        let now = at("2026-11-20T03:00Z");
        let mut https = https(folder.path(), &["10.0.0.2"], &[], now);
        let shown = |https: &Https| https.current.lock().unwrap().as_ref().unwrap().acceptor.config().clone();
        let first = shown(&https);
        let Source::Household { numbers: own, names, .. } = &mut https.source else { unreachable!("of a household") };
        *own = Arc::new(OwnAddresses::new(|| numbers(&["10.0.0.3"]), Arc::new(Timestamp::now)));
        // Not a name that a certificate can hold.
        names.push("ñ.local".into());
        let local = "10.0.0.3".parse().unwrap();
        for _ in 0..2 {
            let acceptor = https.acceptor(local, now).unwrap();
            assert!(Arc::ptr_eq(&first, acceptor.config()));
        }
        let retry_at = https.current.lock().unwrap().as_ref().unwrap().renew_from;
        assert_eq!(retry_at, at("2026-11-20T04:00Z"), "tried again after an hour");
        let Source::Household { names, .. } = &mut https.source else { unreachable!("of a household") };
        names.pop();
        https.acceptor(local, retry_at).unwrap();
        assert!(!Arc::ptr_eq(&first, &shown(&https)));
    }

    /// RFC 5280, section 4.2.1.10: a name outside the constraints of the root is refused, signed or not.
    #[tokio::test]
    async fn nothing_on_the_internet_is_trusted() {
        let now = Timestamp::now();
        for name in ["8.8.8.8", "example.org", "2001:db8::1"] {
            let folder = tempfile::tempdir().unwrap();
            let (addresses, given): (Vec<&str>, Vec<&str>) =
                if name.parse::<IpAddr>().is_ok() { (vec![name], vec![]) } else { (vec![], vec![name]) };
            // Signed all the same, as somebody would who had the key.
            let authority = Authority::open(folder.path(), now).unwrap();
            let acceptor = acceptor_of(authority.sign(&numbers(&addresses), &names(&given), now).unwrap()).unwrap();
            let refused = shake_hands_with(&authority, acceptor, name).await.unwrap_err();
            assert!(refused.contains("NameConstraint"), "{name}: {refused}");
        }
    }

    /// One name that it may not sign would make a client refuse every other too.
    #[tokio::test]
    async fn what_it_may_not_sign_is_left_out() {
        let folder = tempfile::tempdir().unwrap();
        let now = Timestamp::now();
        let https = https(folder.path(), &["192.0.2.2", "192.168.1.5"], &["whelping", "nursery.home.arpa"], now);
        for name in ["192.168.1.5", "nursery.home.arpa"] {
            assert_eq!(shake_hands(&https, name, now).await, Ok(()), "{name}");
        }
        for name in ["192.0.2.2", "whelping"] {
            let refused = shake_hands(&https, name, now).await.unwrap_err();
            assert!(refused.contains("not valid for name"), "{refused}");
        }
        assert!(!https.counts_for_name("whelping") && !https.counts_for_name("notlocal"));
        assert!(https.counts_for_name("localhost") && https.counts_for_name("nursery.local"));
        assert!(!https.counts_for_address("192.0.2.2".parse().unwrap()));
    }

    #[test]
    fn the_authority_stays_and_its_key_is_private() {
        let folder = tempfile::tempdir().unwrap();
        let now = at("2026-11-20T03:00Z");
        let first = Authority::open(folder.path(), now).unwrap();
        let again = Authority::open(folder.path(), at("2026-12-20T03:00Z")).unwrap();
        assert_eq!(first.fingerprint(), again.fingerprint());
        // Two years less the 90 days that a certificate of this computer counts.
        let last = Authority::open(folder.path(), at("2028-08-20T03:00Z")).unwrap();
        assert_eq!(first.fingerprint(), last.fingerprint());
        let elsewhere = tempfile::tempdir().unwrap();
        for file in ["authority.key", "authority.pem"] {
            std::fs::copy(folder.path().join(file), elsewhere.path().join(file)).unwrap();
        }
        let anew = Authority::open(elsewhere.path(), at("2028-08-23T03:00Z")).unwrap();
        assert_ne!(first.fingerprint(), anew.fingerprint(), "a new one before the old one ends");
        assert_eq!(first.fingerprint().len(), 32 * 3 - 1);
        #[cfg(unix)]
        {
            use std::os::unix::fs::PermissionsExt as _;
            let mode = std::fs::metadata(folder.path().join("authority.key")).unwrap().permissions().mode();
            assert_eq!(mode & 0o777, 0o600);
        }
    }

    #[test]
    fn the_certificate_is_signed_anew_long_before_it_ends() {
        let folder = tempfile::tempdir().unwrap();
        let now = at("2026-11-20T03:00Z");
        let https = https(folder.path(), &["10.0.0.2"], &[], now);
        let renew_from = |https: &Https| https.current.lock().unwrap().as_ref().unwrap().renew_from;
        let local = "10.0.0.2".parse().unwrap();
        let first = renew_from(&https);
        assert_eq!(first, at("2026-12-20T03:00Z"), "a third of 90 days");
        https.acceptor(local, at("2026-12-19T03:00Z")).unwrap();
        assert_eq!(renew_from(&https), first);
        https.acceptor(local, at("2026-12-21T03:00Z")).unwrap();
        assert!(renew_from(&https) > first);
    }

    #[test]
    fn a_certificate_of_files_is_taken_or_said_to_be_unfit() {
        let folder = tempfile::tempdir().unwrap();
        let now = Timestamp::now();
        let authority = Authority::open(folder.path(), now).unwrap();
        let (certificate, other) = (folder.path().join("authority.pem"), folder.path().join("other.key"));
        let key = folder.path().join("authority.key");
        std::fs::write(&other, rcgen::KeyPair::generate().unwrap().serialize_pem()).unwrap();
        let fits = Https::from_files(certificate.clone(), key.clone(), now).unwrap();
        assert!(fits.authority().is_none() && !authority.pem.is_empty());
        let told = |certificate: &Path, key: &Path| match Https::from_files(certificate.into(), key.into(), now) {
            Ok(_) => String::new(),
            Err(error) => error.to_string(),
        };
        assert!(told(&certificate, &other).contains("cannot be used"), "{}", told(&certificate, &other));
        assert!(told(&key, &key).contains("holds no certificate"), "{}", told(&key, &key));
        assert!(told(&certificate, &folder.path().join("none")).contains("none cannot be written or read"));
    }
}
