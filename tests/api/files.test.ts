import { createHash } from "node:crypto";
import { mkdtempSync, readdirSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { newId } from "@sealbook/api/platform/transaction";
import { afterAll, beforeAll, describe, expect, it } from "vitest";
import { type SignedIn, type TestApp, testApp } from "../support/app.ts";

let shop: TestApp;
let technician: SignedIn;

/** A temporary folder of its own, so that what an upload leaves behind can be seen. */
const temporary = mkdtempSync(join(tmpdir(), "sealbook-files-test-"));
process.env.TMPDIR = temporary;

beforeAll(async () => {
  shop = await testApp({ UPLOAD_MEGABYTES: "2" });
  technician = await shop.signIn("technician");
});
afterAll(async () => {
  await shop.close();
  rmSync(temporary, { recursive: true });
});

const send = (bytes: Buffer, name: string, id = newId()) =>
  technician.agent.post("/api/files").query({ id }).attach("file", bytes, { filename: name });

const download = async (id: string) =>
  await technician.agent
    .get(`/api/files/${id}`)
    .buffer(true)
    .parse((response, done) => {
      const pieces: Buffer[] = [];
      response.on("data", (piece: Buffer) => pieces.push(piece));
      response.on("end", () => done(null, Buffer.concat(pieces)));
    })
    .expect(200);

// First bytes by ISO 32000-1 7.5.2, PNG third edition 5.2 and ITU-T T.81 B.1.1.3; what follows does not matter here.
const pdf = Buffer.from("%PDF-1.7\n\x00\xff binary", "latin1");
const png = Buffer.from([0x89, 0x50, 0x4e, 0x47, 0x0d, 0x0a, 0x1a, 0x0a, 0, 1, 2, 0xff]);
const jpeg = Buffer.from([0xff, 0xd8, 0xff, 0xe0, 0, 16, 0x4a, 0x46]);

describe("a file that breaks off on its way", () => {
  // Longer ones break off while they are read, shorter ones before that.
  it.each([1, 3_000, 30_000, 300_000])(
    "after %i bytes is refused in words, and nothing stays behind",
    async (length) => {
      const id = newId();
      const body = `--edge\r\nContent-Disposition: form-data; name="file"; filename="a.txt"\r\nContent-Type: text/plain\r\n\r\n${"a".repeat(length)}`;
      const reply = await technician.agent
        .post("/api/files")
        .query({ id })
        .set("content-type", "multipart/form-data; boundary=edge")
        .send(body)
        .expect(400);
      expect(reply.body.detail).toBe("The file did not come whole; nothing was kept.");
      await technician.agent.get(`/api/files/${id}`).expect(404);
      expect(readdirSync(temporary)).toEqual([]);
    },
  );
});

describe("keeping a file", () => {
  it("gives back the same bytes, of whatever length beside the chunks of 256 KiB", async () => {
    for (const length of [1, 262_143, 262_144, 262_145, 900_001]) {
      const bytes = Buffer.alloc(length, "0123456789abcdef\n");
      const { body } = await send(bytes, "long.txt").expect(201);
      expect(body).toMatchObject({
        size: length,
        sha256: createHash("sha256").update(bytes).digest("hex"),
        mediaType: "text/plain",
      });
      const reply = await download(body.id);
      expect(Buffer.compare(reply.body, bytes), `${length} bytes`).toBe(0);
      expect(reply.headers["content-length"]).toBe(String(length));
      const chunks = await shop.admin.query<{ n: number; longest: number }>(
        "SELECT count(*)::int AS n, max(length(bytes)) AS longest FROM file_chunk WHERE file_id = $1",
        [body.id],
      );
      expect(chunks.rows[0]).toEqual({
        n: Math.ceil(length / 262_144),
        longest: Math.min(length, 262_144),
      });
    }
  });

  it("writes hash and size into the ledger, and not the name, which may be a person's", async () => {
    const { body } = await send(pdf, "Letter of M. Quist.pdf").expect(201);
    const { rows } = await shop.admin.query(
      `SELECT e.action, e.actor_id, e.payload FROM file f JOIN ledger_entry e ON e.id = f.entry_id WHERE f.id = $1`,
      [body.id],
    );
    expect(rows).toHaveLength(1);
    expect(rows[0]).toMatchObject({ action: "file.add", actor_id: technician.id });
    expect(JSON.parse(rows[0].payload)).toEqual({
      mediaType: "application/pdf",
      size: pdf.length,
      sha256: createHash("sha256").update(pdf).digest("hex"),
    });
  });

  it("judges what a file is by its bytes, not by its name", async () => {
    expect((await send(pdf, "photo.png").expect(201)).body.mediaType).toBe("application/pdf");
    expect((await send(png, "x.pdf").expect(201)).body.mediaType).toBe("image/png");
    expect((await send(jpeg, "x.csv").expect(201)).body.mediaType).toBe("image/jpeg");
    expect((await send(Buffer.from("a,b\n1,2"), "b.CSV").expect(201)).body.mediaType).toBe("text/csv");
    expect((await send(Buffer.from("<html>é</html>"), "b.html").expect(201)).body.mediaType).toBe(
      "text/plain",
    );
  });

  it("refuses what is neither a document, a picture nor text in UTF-8", async () => {
    const refused = {
      "a program": Buffer.from([0x7f, 0x45, 0x4c, 0x46, 2, 1, 1, 0]),
      "text in another encoding": Buffer.from("Pr\xfcfung", "latin1"),
      "text in UTF-16": Buffer.from("\ufeffMeter", "utf16le"),
      "a letter cut in two at the end": Buffer.from([0x61, 0xc3]),
      "text with a null": Buffer.from("a\0b"),
      nothing: Buffer.alloc(0),
    };
    for (const [what, bytes] of Object.entries(refused)) {
      const reply = await send(bytes, "bench.csv");
      expect(reply.status, what).toBe(415);
      expect(reply.body.type, what).toBe("/problems/unsupported-file");
    }
  });

  it("takes a letter that falls on two pieces of the stream", async () => {
    // 0xC3 0xA9 is é in UTF-8 (RFC 3629); every second byte boundary cuts one in two.
    const bytes = Buffer.concat([Buffer.from("a"), Buffer.alloc(600_000, "é")]);
    expect((await send(bytes, "umlauts.csv").expect(201)).body.mediaType).toBe("text/csv");
  });

  it("refuses what is larger than the service takes, and keeps nothing of it", async () => {
    const id = newId();
    const reply = await send(Buffer.alloc(2 * 1_048_576 + 1, "x"), "big.txt", id);
    expect(reply.status).toBe(413);
    expect(reply.body.type).toBe("/problems/too-large");
    const { rows } = await shop.admin.query("SELECT 1 FROM file_chunk WHERE file_id = $1", [id]);
    expect(rows).toEqual([]);
    expect(readdirSync(temporary)).toEqual([]);
  });

  it("cleans the name of folders, control characters and turned writing", async () => {
    const names: [string, string][] = [
      ["..\\..\\bench\\run 1.csv", "run 1.csv"],
      ["a/b/c.txt", "c.txt"],
      ["invoice\u202Efdp.txt", "invoicefdp.txt"],
      ["...", "file"],
      [`${"m".repeat(300)}.csv`, `${"m".repeat(116)}.csv`],
    ];
    for (const [sent, kept] of names) {
      expect((await send(Buffer.from("x"), sent).expect(201)).body.name).toBe(kept);
    }
  });

  it("asks for the part that is called file", async () => {
    await technician.agent
      .post("/api/files")
      .query({ id: newId() })
      .attach("other", pdf, "a.pdf")
      .expect(400);
    await technician.agent.post("/api/files").query({ id: newId() }).send({ file: "x" }).expect(400);
    await technician.agent.post("/api/files").query({ id: "x" }).attach("file", pdf, "a.pdf").expect(400);
  });
});

describe("sending a file again", () => {
  it("gives the file on record for the same bytes and refuses other bytes under its id", async () => {
    const id = newId();
    const first = await send(pdf, "first.pdf", id).expect(201);
    const again = await send(pdf, "second name.pdf", id).expect(201);
    expect(again.body).toEqual(first.body);
    const other = await send(png, "first.pdf", id);
    expect(other.status).toBe(409);
    expect(other.body.type).toBe("/problems/key-reused");
  });

  it("keeps one file when two requests bring it at the same moment", async () => {
    const id = newId();
    const bytes = Buffer.alloc(700_000, "race\n");
    const replies = await Promise.all([send(bytes, "race.txt", id), send(bytes, "race.txt", id)]);
    expect(replies.map(({ status }) => status)).toEqual([201, 201]);
    expect(replies[0]?.body).toEqual(replies[1]?.body);
    const { rows } = await shop.admin.query(
      "SELECT count(*)::int AS n FROM ledger_entry WHERE subject_id = $1 AND action = 'file.add'",
      [id],
    );
    expect(rows).toEqual([{ n: 1 }]);
  });
});

describe("downloading a file", () => {
  it("saves it under its own name and never shows it as a page of ours", async () => {
    const { body } = await send(Buffer.from("<script>alert(1)</script>"), "Prüfung 'Nord' 100%.html").expect(
      201,
    );
    const { headers } = await download(body.id);
    // Worked by hand from RFC 8187 section 3.2: ü is C3 BC, the apostrophe 27, the percent sign 25.
    expect(headers["content-disposition"]).toBe(
      `attachment; filename="Pr_fung 'Nord' 100_.html"; filename*=UTF-8''Pr%C3%BCfung%20%27Nord%27%20100%25.html`,
    );
    expect(headers["content-type"]).toBe("text/plain; charset=utf-8");
    expect(headers["x-content-type-options"]).toBe("nosniff");
    expect(headers["content-security-policy"]).toBe("sandbox; default-src 'none'");
    expect(headers["cache-control"]).toBe("no-store");
  });

  it("answers 404 for a file that is not kept", async () => {
    await technician.agent.get(`/api/files/${newId()}`).expect(404);
  });
});
