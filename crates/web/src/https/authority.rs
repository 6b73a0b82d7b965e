//! The household's own certificate authority, and the certificate of this computer that it signs.
//!
//! A phone that trusts the authority trusts it for the addresses of a home alone: the root carries name
//! constraints (RFC 5280, section 4.2.1.10) for private addresses and for names under `.local` and
//! `.home.arpa` (RFC 6762, RFC 8375), and for nothing on the internet.

use std::net::{IpAddr, Ipv4Addr, Ipv6Addr};
use std::path::{Path, PathBuf};

use jiff::civil::Date;
use jiff::{Timestamp, ToSpan as _};
use rcgen::{
    BasicConstraints, CertificateParams, CidrSubnet, DnType, ExtendedKeyUsagePurpose, GeneralSubtree, IsCa, Issuer,
    KeyPair, KeyUsagePurpose, NameConstraints, PKCS_ECDSA_P256_SHA256, date_time_ymd,
};
use rustls_pki_types::{CertificateDer, PrivateKeyDer, PrivatePkcs8KeyDer};
use sha2::{Digest as _, Sha256};
use thiserror::Error;

use crate::access::is_of_a_home;

/// Days for which the authority counts: a litter and a few more.
const ROOT_DAYS: i32 = 730;
/// Days for which the certificate of this computer counts; below the 397 days that browsers take.
const LEAF_DAYS: i32 = 90;
/// The ends of the names that a home gives itself (RFC 6762, RFC 8375, RFC 6761).
const NAMES: [&str; 3] = ["local", "home.arpa", "localhost"];
/// A clock that is a day behind takes it too.
const BEFORE_DAYS: i32 = 1;

#[derive(Debug, Error)]
pub enum AuthorityError {
    #[error("{} cannot be written or read: {why}\nThe pages are still there without https.", path.display())]
    File { path: PathBuf, why: String },
    #[error("the certificate cannot be made: {0}\nThe pages are still there without https.")]
    Certificate(#[from] rcgen::Error),
    #[error("the certificate and its key cannot be used: {0}\nThe pages are still there without https.")]
    Unfit(String),
}

/// The authority of one household; its key lies in the folder of the book and can be read by its owner alone.
#[derive(Debug)]
pub struct Authority {
    issuer: Issuer<'static, KeyPair>,
    /// What a phone takes in, as PEM.
    pub pem: String,
    der: Vec<u8>,
}

/// A certificate with its key.
pub struct Signed {
    pub chain: Vec<CertificateDer<'static>>,
    pub key: PrivateKeyDer<'static>,
    /// From then on another one should be signed.
    pub renew_from: Timestamp,
}

impl Authority {
    /// The authority that lies in `folder`, or a new one.
    ///
    /// # Errors
    /// Its files cannot be read or written.
    pub fn open(folder: &Path, now: Timestamp) -> Result<Self, AuthorityError> {
        let (key_path, root_path) = (folder.join("authority.key"), folder.join("authority.pem"));
        let read = |path: &Path| {
            std::fs::read_to_string(path)
                .map_err(|e| AuthorityError::File { path: path.to_owned(), why: e.to_string() })
        };
        if key_path.exists() && root_path.exists() {
            let kept = Self::of(read(&root_path)?, &read(&key_path)?)?;
            if kept.counts_at(now)? {
                return Ok(kept);
            }
        }
        let key = KeyPair::generate_for(&PKCS_ECDSA_P256_SHA256)?;
        let pem = root(now)?.self_signed(&key)?.pem();
        write(&key_path, &key.serialize_pem(), 0o600)?;
        write(&root_path, &pem, 0o644)?;
        Self::of(pem, &key.serialize_pem())
    }

    fn of(pem: String, key: &str) -> Result<Self, AuthorityError> {
        let issuer = Issuer::from_ca_cert_pem(&pem, KeyPair::from_pem(key)?)?;
        let der = rustls_pki_types::pem::PemObject::from_pem_slice(pem.as_bytes())
            .map(|der: CertificateDer<'_>| der.to_vec())
            .map_err(|_| rcgen::Error::CouldNotParseCertificate)?;
        Ok(Self { issuer, pem, der })
    }

    /// What a phone takes in, as DER.
    #[must_use]
    pub fn der(&self) -> &[u8] {
        &self.der
    }

    /// SHA-256 of the authority, in pairs, to compare with what the phone shows.
    #[must_use]
    pub fn fingerprint(&self) -> String {
        let pairs: Vec<String> = Sha256::digest(&self.der).iter().map(|byte| format!("{byte:02X}")).collect();
        pairs.join(":")
    }

    /// Whether the certificate of this computer could be signed by it for as long as usual.
    fn counts_at(&self, now: Timestamp) -> Result<bool, AuthorityError> {
        let (_, own) =
            x509_parser::parse_x509_certificate(&self.der).map_err(|_| rcgen::Error::CouldNotParseCertificate)?;
        Ok(now.as_second() + i64::from(LEAF_DAYS) * 24 * 3600 < own.validity().not_after.timestamp())
    }

    /// Whether it may sign for this address: one of a home.
    #[must_use]
    pub fn permits_address(address: IpAddr) -> bool {
        is_of_a_home(address)
    }

    /// Whether it may sign for this name.
    #[must_use]
    pub fn permits_name(name: &str) -> bool {
        NAMES.iter().any(|end| name == *end || name.strip_suffix(end).is_some_and(|rest| rest.ends_with('.')))
    }

    /// A certificate for these addresses and names of this computer. One that is not permitted would make browsers
    /// refuse the others too.
    ///
    /// # Errors
    /// A name that no certificate can hold.
    pub fn sign(&self, addresses: &[IpAddr], names: &[String], now: Timestamp) -> Result<Signed, AuthorityError> {
        let said = addresses.iter().map(ToString::to_string).chain(names.iter().cloned());
        let mut leaf = CertificateParams::new(said.collect::<Vec<_>>())?;
        leaf.distinguished_name.push(DnType::CommonName, "whelpward on this home network");
        leaf.key_usages = vec![KeyUsagePurpose::DigitalSignature];
        leaf.extended_key_usages = vec![ExtendedKeyUsagePurpose::ServerAuth];
        leaf.use_authority_key_identifier_extension = true;
        is_valid_for(&mut leaf, now, LEAF_DAYS);
        let key = KeyPair::generate_for(&PKCS_ECDSA_P256_SHA256)?;
        let signed = leaf.signed_by(&key, &self.issuer)?;
        let chain = vec![signed.der().clone(), CertificateDer::from(self.der.clone())];
        let key = PrivateKeyDer::Pkcs8(PrivatePkcs8KeyDer::from(key.serialize_der()));
        Ok(Signed { chain, key, renew_from: now + (24 * i64::from(LEAF_DAYS) / 3).hours() })
    }
}

fn root(now: Timestamp) -> Result<CertificateParams, rcgen::Error> {
    let mut root = CertificateParams::new(Vec::new())?;
    // The day tells two authorities of one household apart in the settings of a phone.
    root.distinguished_name.push(DnType::CommonName, format!("whelpward home authority, {}", utc_day(now)));
    root.is_ca = IsCa::Ca(BasicConstraints::Constrained(0));
    // For pages alone: not for mail, not for programs.
    root.extended_key_usages = vec![ExtendedKeyUsagePurpose::ServerAuth];
    root.key_usages = vec![KeyUsagePurpose::KeyCertSign, KeyUsagePurpose::CrlSign];
    is_valid_for(&mut root, now, ROOT_DAYS);
    let four = |a, b, c, d, bits| {
        GeneralSubtree::IpAddress(CidrSubnet::from_addr_prefix(Ipv4Addr::new(a, b, c, d).into(), bits))
    };
    let six = |first, bits| {
        GeneralSubtree::IpAddress(CidrSubnet::from_addr_prefix(Ipv6Addr::new(first, 0, 0, 0, 0, 0, 0, 0).into(), bits))
    };
    let permitted_subtrees = vec![
        // Loopback, RFC 1918, RFC 6598, link-local; unique local and link-local of version 6.
        four(127, 0, 0, 0, 8),
        four(10, 0, 0, 0, 8),
        four(172, 16, 0, 0, 12),
        four(192, 168, 0, 0, 16),
        four(100, 64, 0, 0, 10),
        four(169, 254, 0, 0, 16),
        six(0xFC00, 7),
        six(0xFE80, 10),
        GeneralSubtree::IpAddress(CidrSubnet::from_addr_prefix(Ipv6Addr::LOCALHOST.into(), 128)),
    ];
    let names = NAMES.iter().map(|name| GeneralSubtree::DnsName((*name).into()));
    let permitted_subtrees = permitted_subtrees.into_iter().chain(names).collect();
    root.name_constraints = Some(NameConstraints { permitted_subtrees, excluded_subtrees: Vec::new() });
    Ok(root)
}

fn utc_day(at: Timestamp) -> Date {
    at.to_zoned_datetime(jiff::tz::TimeZone::UTC).date()
}

/// The validity of a certificate, from midnight to midnight.
fn is_valid_for(certificate: &mut CertificateParams, now: Timestamp, days: i32) {
    let midnight = |days: i32| {
        let date = utc_day(now).saturating_add(days.days());
        let part = |n: i8| u8::try_from(n).unwrap_or(1);
        date_time_ymd(i32::from(date.year()), part(date.month()), part(date.day()))
    };
    (certificate.not_before, certificate.not_after) = (midnight(-BEFORE_DAYS), midnight(days));
}

fn write(path: &Path, text: &str, mode: u32) -> Result<(), AuthorityError> {
    let failed = |e: std::io::Error| AuthorityError::File { path: path.to_owned(), why: e.to_string() };
    let mut options = std::fs::OpenOptions::new();
    options.write(true).create(true).truncate(true);
    #[cfg(unix)]
    std::os::unix::fs::OpenOptionsExt::mode(&mut options, mode);
    let mut file = options.open(path).map_err(failed)?;
    std::io::Write::write_all(&mut file, text.as_bytes()).map_err(failed)
}
