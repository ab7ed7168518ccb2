import { ed25519 } from "@noble/curves/ed25519.js";

/** Public key of 32 bytes that belongs to a secret seed of 32 bytes. @source RFC 8032 section 5.1.5 */
export function ed25519PublicKey(seed: Uint8Array): Uint8Array {
  return ed25519.getPublicKey(seed);
}

/** Signature of 64 bytes over a message. @source RFC 8032 section 5.1.6 */
export function signEd25519(message: Uint8Array, seed: Uint8Array): Uint8Array {
  return ed25519.sign(message, seed);
}

/**
 * Whether a signature is the key holder's over the message; malformed keys and signatures are not.
 * @source RFC 8032 section 5.1.7, canonical encodings only
 */
export function isEd25519Signature(
  signature: Uint8Array,
  message: Uint8Array,
  publicKey: Uint8Array,
): boolean {
  if (signature.length !== 64 || publicKey.length !== 32) return false;
  return ed25519.verify(signature, message, publicKey, { zip215: false });
}
