//! The pages over https, beside plain http and never instead of it: with a certificate that the household
//! signs itself, which each phone has to be told to trust.

mod authority;

use std::net::IpAddr;
use std::path::Path;
use std::sync::{Arc, Mutex, PoisonError};

use jiff::Timestamp;
use rustls::ServerConfig;
use tokio_rustls::TlsAcceptor;

pub use authority::{Authority, AuthorityError};

/// What takes connections over https.
pub struct Https {
    pub authority: Authority,
    /// This computer, as phones ask for it.
    addresses: Vec<IpAddr>,
    names: Vec<String>,
    current: Mutex<Option<(Timestamp, TlsAcceptor)>>,
}

impl Https {
    /// With the authority of the household in `folder`, for these addresses and names.
    ///
    /// # Errors
    /// The files of the authority; a name that no certificate can hold.
    pub fn open(
        folder: &Path,
        addresses: Vec<IpAddr>,
        names: Vec<String>,
        now: Timestamp,
    ) -> Result<Self, AuthorityError> {
        let https = Self { authority: Authority::open(folder, now)?, addresses, names, current: Mutex::default() };
        https.acceptor(now)?;
        Ok(https)
    }

    /// With a certificate that is signed anew long before it ends, also in a program that runs for months.
    pub(crate) fn acceptor(&self, now: Timestamp) -> Result<TlsAcceptor, AuthorityError> {
        let mut current = self.current.lock().unwrap_or_else(PoisonError::into_inner);
        if let Some((renew_from, acceptor)) = &*current
            && now < *renew_from
        {
            return Ok(acceptor.clone());
        }
        let signed = self.authority.sign(&self.addresses, &self.names, now)?;
        let unfit = |_| AuthorityError::Certificate(rcgen::Error::CouldNotParseCertificate);
        let config = ServerConfig::builder_with_provider(Arc::new(rustls::crypto::ring::default_provider()))
            .with_safe_default_protocol_versions()
            .map_err(unfit)?
            .with_no_client_auth()
            .with_single_cert(signed.chain, signed.key)
            .map_err(unfit)?;
        let acceptor = TlsAcceptor::from(Arc::new(config));
        *current = Some((signed.renew_from, acceptor.clone()));
        Ok(acceptor)
    }
}

#[cfg(test)]
mod tests {
    use rustls::pki_types::{CertificateDer, ServerName};
    use rustls::{ClientConfig, RootCertStore};
    use rustls_pki_types::pem::PemObject as _;
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
        roots.add(CertificateDer::from_pem_slice(https.authority.pem.as_bytes()).unwrap()).unwrap();
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
            let https = https(folder.path(), &addresses, &names, now);
            let refused = shake_hands(&https, name, now).await.unwrap_err();
            assert!(refused.contains("NameConstraint"), "{name}: {refused}");
        }
    }

    #[test]
    fn the_authority_stays_and_its_key_is_private() {
        let folder = tempfile::tempdir().unwrap();
        let now = at("2026-11-20T03:00Z");
        let first = Authority::open(folder.path(), now).unwrap();
        let again = Authority::open(folder.path(), at("2026-12-20T03:00Z")).unwrap();
        assert_eq!(first.fingerprint(), again.fingerprint());
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
}
