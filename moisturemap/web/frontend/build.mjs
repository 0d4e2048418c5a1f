// Bundles the front end into ../static. The output depends on nothing but the sources and the
// locked packages, so that a fresh build can be compared with the committed one.
import { build } from "esbuild";
import { copyFile, mkdir, readFile, readdir, rm, writeFile } from "node:fs/promises";
import { createHash } from "node:crypto";
import { dirname, join } from "node:path";
import { fileURLToPath } from "node:url";
import { gzipSync } from "node:zlib";

const here = dirname(fileURLToPath(import.meta.url));
const target = process.argv[2] ?? join(here, "..", "static");
const budget = 250 * 1000;

await rm(target, { recursive: true, force: true });
await mkdir(target, { recursive: true });
await build({
  absWorkingDir: here,
  entryPoints: { app: "src/main.ts", style: "src/style.css" },
  outdir: target,
  bundle: true,
  minify: true,
  format: "esm",
  target: "es2022",
  charset: "utf8",
  legalComments: "none",
  logLevel: "warning",
});
for (const name of ["index.html", "icon.svg", "manifest.webmanifest"]) {
  await copyFile(join(here, "src", name), join(target, name));
}

// The worker that keeps the page when the connection is lost is named by what it keeps.
const hash = createHash("sha256");
for (const name of (await readdir(target)).sort()) hash.update(await readFile(join(target, name)));
const worker = await readFile(join(here, "src", "keep_page.js"), "utf8");
await writeFile(
  join(target, "keep_page.js"),
  worker.replace("@EDITION@", hash.digest("hex").slice(0, 12)),
);

const licences = [];
for (const name of ["ol", "rbush", "quickselect", "earcut"]) {
  const folder = join(here, "node_modules", name);
  const { version, license } = JSON.parse(await readFile(join(folder, "package.json"), "utf8"));
  const file = (await readdir(folder)).find((entry) => /^licen[sc]e/i.test(entry));
  const text = file ? (await readFile(join(folder, file), "utf8")).trim() : license;
  licences.push(`${name} ${version} (${license})\n\n${text}\n`);
}
await writeFile(join(target, "LICENCES.txt"), licences.join("\n----\n\n"));

let total = 0;
for (const name of (await readdir(target)).sort()) {
  const size = gzipSync(await readFile(join(target, name)), { level: 6 }).length;
  if (name !== "LICENCES.txt") total += size;
  console.log(`${name.padEnd(24)} ${(size / 1000).toFixed(1).padStart(7)} kB gzipped`);
}
console.log(
  `${"total".padEnd(24)} ${(total / 1000).toFixed(1).padStart(7)} kB of ${budget / 1000}`,
);
if (total > budget) {
  console.error("The front end is larger than its budget.");
  process.exit(1);
}
