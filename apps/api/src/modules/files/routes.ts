import * as operations from "@sealbook/contract/files";
import type { FastifyInstance } from "fastify";
import { contentDisposition } from "../../platform/content-disposition.ts";
import { ProblemError } from "../../platform/problem-error.ts";
import { serveFile } from "../../platform/serve.ts";
import { inTransaction } from "../../platform/transaction.ts";
import * as files from "./files.ts";

export async function filesRoutes(app: FastifyInstance): Promise<void> {
  serveFile(app, operations.addFile, async ({ query, actor, request }) => {
    if (actor === null) throw new ProblemError("not-signed-in", "Sign in to go on.");
    const part = request.isMultipart() ? await request.file() : undefined;
    if (part?.fieldname !== "file") {
      throw new ProblemError("malformed-request", 'Send the file as multipart/form-data in a part "file".', {
        errors: [{ pointer: "/file", detail: "A file is needed." }],
      });
    }
    return await files.addFile(app.database, actor, {
      id: query.id,
      name: part.filename,
      bytes: part.file,
    });
  });
  serveFile(app, operations.getFile, async ({ params, actor, reply }) => {
    const file = await inTransaction(app.database.pool, actor, (tx) => files.getFileView(tx, params.id));
    return (
      reply
        .type(file.mediaType.startsWith("text/") ? `${file.mediaType}; charset=utf-8` : file.mediaType)
        .header("content-length", file.size)
        .header("content-disposition", contentDisposition(file.name))
        .header("x-content-type-options", "nosniff")
        // What people sent never runs as a page of ours.
        .header("content-security-policy", "sandbox; default-src 'none'")
        .send(files.readFileStream(app.database, file))
    );
  });
}
