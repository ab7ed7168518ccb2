/**
 * SHA-256 of bytes, synchronous (FIPS 180-4). The package names two makers of it, which give the same bytes: Node's own, and
 * one that runs anywhere (`imports` in package.json).
 */
export { sha256 } from "#sha256";
