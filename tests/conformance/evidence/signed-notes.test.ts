import { fromHex, toHex, utf8 } from "@sealbook/evidence/bytes";
import { openCheckpoint, writeCheckpoint } from "@sealbook/evidence/checkpoint";
import { ed25519PublicKey, isEd25519Signature, signEd25519 } from "@sealbook/evidence/ed25519";
import { leafHash } from "@sealbook/evidence/leaf-and-node-hash";
import { makeInclusionProof } from "@sealbook/evidence/make-proof";
import { merkleTreeHash } from "@sealbook/evidence/merkle-tree-hash";
import { type NoteKey, readNoteKey, writeNoteKey } from "@sealbook/evidence/note-key";
import { keyOfSigner, openNote, signNote } from "@sealbook/evidence/signed-note";
import { checkTlogProof, writeTlogProof } from "@sealbook/evidence/tlog-proof";
import { describe, expect, it } from "vitest";
import tree from "./rfc6962-vectors.json" with { type: "json" };
import vectors from "./signed-note-vectors.json" with { type: "json" };

// RFC 8032 section 7.1, test 1.
const seed = fromHex("9d61b19deffd5a60ba844af492ec2cc44449c5697b326919703bac031cae7f60");
const publicKey = "d75a980182b10ab7d54bfed3c964073a0ee172f3daa62325af021a68f707511a";
const signature =
  "e5564300c360ac729086e2cc806e828a84877f1eb8e5d974d873e065224901555fb8821590a33bacc61e39701cf9b46bd25bf5f0595bbe24655141438e7a100b";

const leaves = tree.leaves.map((leaf) => leafHash(fromHex(leaf)));
const signer = { name: "audit.example/meters", seed };
const logKey = keyOfSigner(signer);

function keyOf(line: string): NoteKey {
  const read = readNoteKey(line);
  if (read.kind === "refused") throw new Error(`${read.refusal}: got ${read.got}, want ${read.want}`);
  return read.key;
}

const nameOf = (checked: { kind: string; refusal?: string }): string => checked.refusal ?? checked.kind;

describe("Ed25519", () => {
  it("gives test 1 of RFC 8032 section 7.1", () => {
    expect(toHex(ed25519PublicKey(seed))).toBe(publicKey);
    expect(toHex(signEd25519(new Uint8Array(), seed))).toBe(signature);
    expect(isEd25519Signature(fromHex(signature), new Uint8Array(), fromHex(publicKey))).toBe(true);
  });

  it("refuses another message, a changed signature, and what is no signature or key at all", () => {
    const signed = fromHex(signature);
    expect(isEd25519Signature(signed, Uint8Array.of(0), fromHex(publicKey))).toBe(false);
    for (let byte = 0; byte < 64; byte++) {
      const changed = signed.slice();
      changed[byte] = (changed[byte] ?? 0) ^ 1;
      expect(isEd25519Signature(changed, new Uint8Array(), fromHex(publicKey))).toBe(false);
    }
    expect(isEd25519Signature(signed.slice(1), new Uint8Array(), fromHex(publicKey))).toBe(false);
    expect(isEd25519Signature(signed, new Uint8Array(), fromHex(publicKey).slice(1))).toBe(false);
    expect(isEd25519Signature(signed, new Uint8Array(), new Uint8Array(32).fill(255))).toBe(false);
  });
});

describe("the example of C2SP signed-note", () => {
  const line = "example.com/foo+530d903a+AekyeRrm56hApGFkyQR4ZCbV54Id2LKaANYcrnKv3U2k";
  const note =
    "This is an example message.\n\n\u2014 example.com/foo Uw2QOkn8srV1yJGh2VYRlL1Tnagv1YEq6TfXppzi2ONncAlTgK7Ztg1ERYNZXsYjOBH3mFXmRKuwHjG1Yu72IneyaQM=\n";

  it("has its key read and written, and its signature accepted", () => {
    expect(writeNoteKey(keyOf(line))).toBe(line);
    expect(openNote(note, [keyOf(line)])).toMatchObject({
      kind: "accepted",
      text: "This is an example message.\n",
      signatures: [{ witnessedAt: null }],
    });
  });

  it("is refused once any byte of text or signature is another", () => {
    const key = keyOf(line);
    for (let at = 0; at < note.length; at++) {
      const changed = `${note.slice(0, at)}${note[at] === "A" ? "B" : "A"}${note.slice(at + 1)}`;
      expect(openNote(changed, [key]).kind, `at ${at}`).toBe("refused");
    }
  });

  it("names what is wrong with a key line", () => {
    expect(nameOf(readNoteKey(line.replace("530d903a", "530d903b")))).toBe("key-id-differs");
    expect(nameOf(readNoteKey("example.com/foo"))).toBe("not-a-key-line");
    expect(nameOf(readNoteKey(line.slice(0, -4)))).toBe("not-a-key-line");
    expect(nameOf(readNoteKey(line.replace("Aeky", "Auky")))).toBe("unknown-kind-of-key");
  });
});

describe("checkpoints", () => {
  it("are written byte for byte as the vectors have them, and read back", () => {
    expect(writeNoteKey(logKey)).toBe(vectors.vkey);
    expect(vectors.checkpoints).toHaveLength(4);
    for (const { size, signed_note } of vectors.checkpoints) {
      const root = merkleTreeHash(leaves.slice(0, size));
      expect(writeCheckpoint({ size, root }, signer)).toBe(signed_note);
      expect(openCheckpoint(signed_note, [keyOf(vectors.vkey)])).toMatchObject({
        kind: "accepted",
        checkpoint: { origin: "audit.example/meters", size, root },
      });
    }
  });

  const whole = vectors.checkpoints[3]?.signed_note ?? "";

  it("are refused by name", () => {
    const refusal = (note: string, keys = [logKey]) => nameOf(openCheckpoint(note, keys));
    expect(refusal(whole)).toBe("accepted");
    expect(refusal(whole.replace("\n8\n", "\n9\n"))).toBe("signature-false");
    expect(refusal(whole.replace("Xcna", "Xcnb"))).toBe("signature-false");
    expect(refusal(whole.replace("\n\n", "\n"))).toBe("not-a-note");
    expect(refusal(whole.slice(0, -1))).toBe("not-a-note");
    expect(refusal(whole.replace("\n8\n", "\n8\r\n"))).toBe("not-a-note");
    expect(refusal(whole.replace("\u2014", "-"))).toBe("signature-line");
    expect(refusal(`${whole}\u2014 audit.example/meters !\n`)).toBe("signature-line");
    expect(refusal(whole, [keyOfSigner({ ...signer, seed: new Uint8Array(32) })])).toBe("no-known-signature");
    expect(refusal("")).toBe("not-a-note");
    const signed = (text: string) => signNote(text, [signer]);
    const rootLine = whole.split("\n")[2];
    expect(refusal(signed(`audit.example/meters\n08\n${rootLine}\n`))).toBe("not-a-checkpoint");
    expect(refusal(signed(`audit.example/meters\n-8\n${rootLine}\n`))).toBe("not-a-checkpoint");
    expect(refusal(signed(`audit.example/meters\n9007199254740993\n${rootLine}\n`))).toBe("not-a-checkpoint");
    expect(refusal(signed("audit.example/meters\n8\nAAAA\n"))).toBe("not-a-checkpoint");
    expect(refusal(signed("audit.example/meters\n8\n"))).toBe("not-a-checkpoint");
    expect(refusal(signed(`other.example/log\n8\n${rootLine}\n`))).toBe("origin-differs");
    expect(refusal(signed(`audit.example/meters\n8\n${rootLine}\nan extension line\n`))).toBe("accepted");
  });

  it("signed by a witness alone are not signed by the log", () => {
    const witness = keyOf(vectors.witness.vkey);
    const [text] = whole.split("\n\n");
    const witnessed = `${text}\n\n${vectors.witness.cosign_line}`;
    expect(nameOf(openCheckpoint(witnessed, [logKey], [witness]))).toBe("not-signed-by-log");
  });
});

describe("proof files", () => {
  const file = vectors.tlog_proof_index5_size8;
  const witness = keyOf(vectors.witness.vkey);
  const leaf = leaves[5] as Uint8Array;

  it("are written as the vector has it and accepted, with the witness's time", () => {
    const checkpoint = file.slice(file.indexOf("\n\n") + 2);
    expect(writeTlogProof({ index: 5, proof: makeInclusionProof(leaves, 5), checkpoint })).toBe(file);
    expect(checkTlogProof(file, leaf, [logKey], [witness])).toMatchObject({
      kind: "accepted",
      index: 5,
      checkpoint: { size: 8 },
      signatures: [{ witnessedAt: null }, { witnessedAt: vectors.witness.time }],
    });
    const withExtra = file.replace("\nindex", "\nextra c2FtcGxl\nindex");
    expect(checkTlogProof(withExtra, leaf, [logKey]).kind).toBe("accepted");
  });

  it("are refused by name", () => {
    const refusal = (text: string, hash = leaf, keys = [logKey]) =>
      nameOf(checkTlogProof(text, hash, keys, [witness]));
    expect(refusal(file)).toBe("accepted");
    expect(refusal(file, leaves[4])).toBe("root-differs");
    expect(refusal(file.replace("index 5", "index 4"))).toBe("root-differs");
    expect(refusal(file.replace("index 5", "index 8"))).toBe("leaf-outside-tree");
    expect(refusal(file.replace("index 5", "index 05"))).toBe("not-a-proof-file");
    expect(refusal(file.replace("proof@v1", "proof@v2"))).toBe("not-a-proof-file");
    expect(refusal(file.replace(/\nvBoG.*/, ""))).toBe("proof-length");
    expect(refusal(file.replace(/\n(vBoG.*)/, "\n$1\n$1"))).toBe("proof-length");
    expect(refusal(file.replace("\nvBoG", "\nvBoH"))).toBe("root-differs");
    expect(refusal(file.replace("\nvBoG", "\nBoG"))).toBe("not-a-proof-file");
    expect(refusal(file.replace("AAAABkGFDL", "AAAABkGFDM"))).toBe("signature-false");
    expect(refusal(file, leaf, [keyOfSigner({ ...signer, name: "other.example/log" })])).toBe(
      "origin-differs",
    );
    expect(refusal("")).toBe("not-a-proof-file");
  });

  it("lose what a changed byte belongs to: the proof, or the witness's signature alone", () => {
    const witnessLine = file.lastIndexOf("\u2014");
    for (let at = 0; at < file.length; at++) {
      const changed = `${file.slice(0, at)}${file[at] === "A" ? "B" : "A"}${file.slice(at + 1)}`;
      const checked = checkTlogProof(changed, leaf, [logKey], [witness]);
      // A signature whose key's name or id changed is one of an unknown key, which every reader passes over.
      const isKept = checked.kind === "accepted" && (at < witnessLine || checked.signatures.length > 1);
      expect(isKept, `at ${at}`).toBe(false);
    }
  });

  it("of a name that is no key's name are not written", () => {
    expect(() => signNote("no newline", [signer])).toThrow(RangeError);
    expect(() => writeNoteKey({ ...logKey, name: "a+b" })).toThrow(RangeError);
    expect(utf8(writeNoteKey(logKey)).length).toBe(vectors.vkey.length);
  });
});
