import * as operations from "@sealbook/contract/files";
import type { FastifyInstance, FastifyRequest } from "fastify";
import { contentDisposition } from "../../platform/content-disposition.ts";
import { refuseWhenNearlyFull } from "../../platform/disk.ts";
import { ProblemError } from "../../platform/problem-error.ts";
import { serveFile } from "../../platform/serve.ts";
import { inTransaction } from "../../platform/transaction.ts";
import * as files from "./files.ts";

export async function filesRoutes(app: FastifyInstance): Promise<void> {
  serveFile(app, operations.addFile, async ({ query, actor, request }) => {
    if (actor === null) throw new ProblemError("not-signed-in", "Sign in to go on.");
    await refuseWhenNearlyFull(app.config);
    const part = await partIn(request);
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

/** The first file of a multipart body; a body that breaks off or is none of that kind has none. */
async function partIn(request: FastifyRequest) {
  if (!request.isMultipart()) return undefined;
  try {
    return await request.file();
  } catch (error) {
    // The parser's own complaints carry no status; limits and the like do.
    if ((error as { statusCode?: unknown }).statusCode !== undefined) throw error;
    return undefined;
  }
}
