//! The strict check of one signature, and the bytes that lie under it.

use std::collections::HashMap;

use ed25519_dalek::{Signature, VerifyingKey};

use super::{Opened, SIGNATURE_BYTES, Unverified, write_string_head};
use crate::error::{Error, Result};
use crate::id::LogId;

/// The protected header: `{1: -19}`, algorithm Ed25519.
pub(super) const PROTECTED: &[u8] = &[0xa1, 0x01, 0x32];
/// Binds every signature to this format; `external_aad` of RFC 9052 section 4.3.
const EXTERNAL_AAD: &[u8] = b"winze/1";
/// Public keys kept unpacked; above it all are forgotten and unpacked again.
pub(super) const KEYS_KEPT: usize = 1024;

/// Checks signatures and keeps the unpacked public keys. One per thread.
#[derive(Debug, Default)]
pub struct Verifier {
    pub(super) keys: HashMap<LogId, VerifyingKey>,
    to_be_signed: Vec<u8>,
}

impl Verifier {
    /// Checks the signature of an item.
    ///
    /// # Errors
    /// [`Error::BadKey`] when the log id is no usable public key, [`Error::BadSignature`].
    pub fn verify(&mut self, item: Unverified) -> Result<Opened> {
        self.check(&item)?;
        Ok(item.opened)
    }

    /// Checks the signature of an item and leaves it where it is.
    ///
    /// # Errors
    /// As [`Verifier::verify`].
    pub fn check(&mut self, item: &Unverified) -> Result<()> {
        let log = item.claimed().log;
        let key = self.key(log)?;
        self.to_be_signed.clear();
        write_to_be_signed(&mut self.to_be_signed, item.payload());
        let signature = item
            .item()
            .last_chunk()
            .ok_or(Error::BadSignature { log })?;
        check_signature(&key, &self.to_be_signed, signature)
    }

    fn key(&mut self, log: LogId) -> Result<VerifyingKey> {
        if let Some(key) = self.keys.get(&log) {
            return Ok(*key);
        }
        let key = unpack_key(log)?;
        if self.keys.len() >= KEYS_KEPT {
            self.keys.clear();
        }
        self.keys.insert(log, key);
        Ok(key)
    }
}

/// Refuses keys with a second spelling and keys of small order: both would let one signature
/// stand for several names.
pub(super) fn unpack_key(log: LogId) -> Result<VerifyingKey> {
    let bad = || Error::BadKey { log };
    let bytes = &log.0;
    // A coordinate at or above the field prime 2^255 - 19 has a shorter spelling.
    let above_prime =
        bytes[0] >= 0xed && bytes[1..31].iter().all(|&b| b == 0xff) && bytes[31] & 0x7f == 0x7f;
    if above_prime {
        return Err(bad());
    }
    let key = VerifyingKey::from_bytes(bytes).map_err(|_| bad())?;
    if key.is_weak() { Err(bad()) } else { Ok(key) }
}

/// The strict check of RFC 8032 section 5.1.7: S below the group order, no small-order parts.
pub(super) fn check_signature(
    key: &VerifyingKey,
    message: &[u8],
    signature: &[u8; SIGNATURE_BYTES],
) -> Result<()> {
    key.verify_strict(message, &Signature::from_bytes(signature))
        .map_err(|_| Error::BadSignature {
            log: LogId(key.to_bytes()),
        })
}

/// The bytes under the signature of an item.
pub(super) fn write_to_be_signed(out: &mut Vec<u8>, payload: &[u8]) {
    write_sig_structure(out, PROTECTED, EXTERNAL_AAD, payload);
}

/// `Sig_structure` of RFC 9052 section 4.4 for one signature.
pub(super) fn write_sig_structure(
    out: &mut Vec<u8>,
    protected: &[u8],
    external_aad: &[u8],
    payload: &[u8],
) {
    out.extend_from_slice(b"\x84\x6aSignature1");
    for string in [protected, external_aad, payload] {
        write_string_head(out, string.len());
        out.extend_from_slice(string);
    }
}
