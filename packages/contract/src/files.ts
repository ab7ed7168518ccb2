import { z } from "zod";
import { idParams, idSchema, instantSchema } from "./common.ts";
import { operation } from "./operation.ts";

/** A file kept byte for byte: a certificate, a photo, a bench's export. */
export const fileSchema = z.object({
  id: idSchema,
  name: z.string(),
  mediaType: z.string(),
  size: z.int().describe("Bytes"),
  sha256: z.string(),
  recordedAt: instantSchema,
});
export type StoredFile = z.infer<typeof fileSchema>;

export const addFile = operation({
  id: "files.add",
  summary: "Keep a file; the id comes in the query, so that a retry adds nothing twice",
  method: "POST",
  path: "/files",
  permission: "file.add",
  query: z.object({ id: idSchema }),
  upload: true,
  reply: fileSchema,
  status: 201,
  problems: ["too-large", "unsupported-file", "key-reused", "storage-full"],
});

export const getFile = operation({
  id: "files.get",
  summary: "Download a file",
  method: "GET",
  path: "/files/:id",
  permission: "file.read",
  params: idParams,
  reply: "file",
  problems: ["not-found"],
});

export const fileOperations = [addFile, getFile];
