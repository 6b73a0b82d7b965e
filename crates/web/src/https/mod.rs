//! The pages over https, beside plain http and never instead of it: with a certificate that the household
//! signs itself, which each phone has to be told to trust; or with one that lies in files.

mod authority;

use std::net::IpAddr;
use std::path::{Path, PathBuf};
use std::sync::{Arc, Mutex, PoisonError};

use authority::Signed;
use jiff::{Timestamp, ToSpan as _};
use rustls::ServerConfig;
use rustls_pki_types::pem::{self, PemObject as _};
use rustls_pki_types::{CertificateDer, PrivateKeyDer};
use tokio_rustls::TlsAcceptor;

pub use authority::{Authority, AuthorityError};

/// What takes connections over https.
pub struct Https {
    source: Source,
    current: Mutex<Option<(Timestamp, TlsAcceptor)>>,
}

enum Source {
    Household {
        authority: Box<Authority>,
        /// This computer, as phones ask for it.
        addresses: Vec<IpAddr>,
        names: Vec<String>,
    },
    /// PEM files that somebody else renews.
    Files { certificate: PathBuf, key: PathBuf },
}

/// How often files are read anew, hours (our own).
const FILES_AGAIN_H: i64 = 12;

impl Https {
    /// With the authority of the household in `folder`, for those of these addresses and names for which it may sign.
    ///
    /// # Errors
    /// The files of the authority; a name that no certificate can hold.
    pub fn open(
        folder: &Path,
        addresses: Vec<IpAddr>,
        names: Vec<String>,
        now: Timestamp,
    ) -> Result<Self, AuthorityError> {
        let authority = Box::new(Authority::open(folder, now)?);
        let addresses = addresses.into_iter().filter(|ip| Authority::permits_address(*ip)).collect();
        let names = names.into_iter().filter(|name| Authority::permits_name(name)).collect();
        Self::of(Source::Household { authority, addresses, names }, now)
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
        https.acceptor(now)?;
        Ok(https)
    }

    /// The household's own authority, which phones must be told to trust.
    pub fn authority(&self) -> Option<&Authority> {
        match &self.source {
            Source::Household { authority, .. } => Some(authority),
            Source::Files { .. } => None,
        }
    }

    /// Whether browsers that trust take this address.
    pub fn counts_for_address(&self, address: IpAddr) -> bool {
        self.authority().is_none() || Authority::permits_address(address)
    }

    /// Whether browsers that trust take this name.
    pub fn counts_for_name(&self, name: &str) -> bool {
        self.authority().is_none() || Authority::permits_name(name)
    }

    fn signed(&self, now: Timestamp) -> Result<Signed, AuthorityError> {
        match &self.source {
            Source::Household { authority, addresses, names } => authority.sign(addresses, names, now),
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

    /// With a certificate that is signed anew long before it ends, also in a program that runs for months.
    pub(crate) fn acceptor(&self, now: Timestamp) -> Result<TlsAcceptor, AuthorityError> {
        let mut current = self.current.lock().unwrap_or_else(PoisonError::into_inner);
        if let Some((renew_from, acceptor)) = &*current
            && now < *renew_from
        {
            return Ok(acceptor.clone());
        }
        let renewed = self.renewed(now);
        // Such as files of which one is renewed already: the certificate of before counts for some time yet.
        if let (Err(error), Some((renew_from, acceptor))) = (&renewed, &mut *current) {
            eprintln!("{error}");
            *renew_from = now + 1.hours();
            return Ok(acceptor.clone());
        }
        let (renew_from, acceptor) = renewed?;
        *current = Some((renew_from, acceptor.clone()));
        Ok(acceptor)
    }

    fn renewed(&self, now: Timestamp) -> Result<(Timestamp, TlsAcceptor), AuthorityError> {
        let signed = self.signed(now)?;
        let unfit = |e: rustls::Error| AuthorityError::Unfit(e.to_string());
        let config = ServerConfig::builder_with_provider(Arc::new(rustls::crypto::ring::default_provider()))
            .with_safe_default_protocol_versions()
            .map_err(unfit)?
            .with_no_client_auth()
            .with_single_cert(signed.chain, signed.key)
            .map_err(unfit)?;
        Ok((signed.renew_from, TlsAcceptor::from(Arc::new(config))))
    }
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

    fn https(folder: &Path, addresses: &[&str], names: &[&str], now: Timestamp) -> Https {
        let addresses = addresses.iter().map(|a| a.parse().unwrap()).collect();
        Https::open(folder, addresses, names.iter().map(|n| (*n).to_owned()).collect(), now).unwrap()
    }

    /// What a client that trusts the household's authority says of a connection to `name`.
    async fn shake_hands(https: &Https, name: &str, now: Timestamp) -> Result<(), String> {
        let mut roots = RootCertStore::empty();
        roots.add(CertificateDer::from_pem_slice(https.authority().unwrap().pem.as_bytes()).unwrap()).unwrap();
        let client = ClientConfig::builder_with_provider(Arc::new(rustls::crypto::ring::default_provider()))
            .with_safe_default_protocol_versions()
            .unwrap()
            .with_root_certificates(roots)
            .with_no_client_auth();
        let (here, there) = tokio::io::duplex(16 * 1024);
        let acceptor = https.acceptor(now).unwrap();
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

    /// RFC 5280, section 4.2.1.10: a name outside the constraints of the root is refused, signed or not.
    #[tokio::test]
    async fn nothing_on_the_internet_is_trusted() {
        let now = Timestamp::now();
        for name in ["8.8.8.8", "example.org", "2001:db8::1"] {
            let folder = tempfile::tempdir().unwrap();
            let (addresses, names): (Vec<&str>, Vec<&str>) =
                if name.parse::<IpAddr>().is_ok() { (vec![name], vec![]) } else { (vec![], vec![name]) };
            // Signed all the same, as somebody would who had the key.
            let authority = Box::new(Authority::open(folder.path(), now).unwrap());
            let addresses = addresses.iter().map(|a| a.parse().unwrap()).collect();
            let names = names.iter().map(|n| (*n).to_owned()).collect();
            let https = Https::of(Source::Household { authority, addresses, names }, now).unwrap();
            let refused = shake_hands(&https, name, now).await.unwrap_err();
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
        let renew_from = |https: &Https| https.current.lock().unwrap().as_ref().unwrap().0;
        let first = renew_from(&https);
        assert_eq!(first, at("2026-12-20T03:00Z"), "a third of 90 days");
        https.acceptor(at("2026-12-19T03:00Z")).unwrap();
        assert_eq!(renew_from(&https), first);
        https.acceptor(at("2026-12-21T03:00Z")).unwrap();
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
