// Refuses a page that is too large. What counts is what the window reads, compressed as it is embedded.
import { readdirSync, readFileSync } from "node:fs";
import { join } from "node:path";
import { exit, stdout } from "node:process";
import { gzipSync } from "node:zlib";

/** The most that all files of the page may have together, compressed, in bytes. */
const MOST = 250_000;

const files = readdirSync("dist", { recursive: true, withFileTypes: true }).filter((it) =>
  it.isFile(),
);
const bytes = files
  .map((it) => gzipSync(readFileSync(join(it.parentPath, it.name))).length)
  .reduce((sum, it) => sum + it, 0);
stdout.write(`${files.length} files, ${bytes} bytes compressed; ${MOST} are allowed\n`);
if (files.length === 0 || bytes > MOST) exit(1);
