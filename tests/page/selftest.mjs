// Shows that check.mjs finds what is wrong: a page that is faulty on purpose
// must be caught on every count, and a sound page on none.

import assert from "node:assert/strict";
import { execFileSync } from "node:child_process";
import { mkdtempSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import path from "node:path";
import { fileURLToPath } from "node:url";

const here = path.dirname(fileURLToPath(import.meta.url));
const folder = mkdtempSync(path.join(tmpdir(), "pourwright-page-"));

// Outside addresses below are of the reserved kind that no host can have.
const faulty = `<!DOCTYPE html>
<html>
<head><title>Faulty</title>
<link rel="stylesheet" href="http://outside.invalid/look.css"></head>
<body>
<h1>Faulty on purpose</h1>
<p style="color:#ccc;background:#fff">Too pale to read.</p>
<img src="mould.png">
<p id="twice">One</p><p id="twice">Two</p>
<div style="width:2000px">Wider than any screen</div>
<details><summary>Open me</summary><p style="width:1rem;overflow-wrap:anywhere">Folded and squeezed</p></details>
<script>console.error("said aloud"); notThere();</script>
</body>
</html>
`;
const sound = `<!DOCTYPE html>
<html lang="en">
<head>
<meta charset="utf-8">
<meta name="viewport" content="width=device-width, initial-scale=1">
<title>Sound</title>
<style>
:root { color-scheme: light dark; }
body { color: #111; background: #fff; }
@media (prefers-color-scheme: dark) { body { color: #eee; background: #111; } }
</style>
</head>
<body>
<main><h1>Sound</h1><p>Nothing to find here.</p></main>
</body>
</html>
`;

try {
  const bad = path.join(folder, "faulty.html");
  const good = path.join(folder, "sound.html");
  writeFileSync(bad, faulty);
  writeFileSync(good, sound);
  const said = execFileSync(process.execPath, [path.join(here, "check.mjs"), bad, good], {
    encoding: "utf8",
    stdio: ["ignore", "pipe", "inherit"],
  });
  const { pages, html } = JSON.parse(said);
  assert.equal(pages.length, 12);
  for (const page of pages.filter(({ file }) => file === bad)) {
    const rules = page.axe.map(({ id }) => id);
    for (const rule of ["color-contrast", "html-has-lang", "image-alt"]) {
      assert.ok(rules.includes(rule), `${rule} missed at ${page.width} ${page.theme}: ${rules}`);
    }
    assert.ok(page.requests.some((url) => url.startsWith("http://outside.invalid/")));
    assert.ok(page.requests.some((url) => url.endsWith("/mould.png")));
    assert.ok(page.overflow);
    assert.ok(page.errors.some((text) => text.includes("said aloud")));
    assert.ok(page.errors.some((text) => text.includes("notThere")));
    assert.ok(page.errors.includes("squeezed: Folded and squeezed (DETAILS > P)"));
  }
  for (const page of pages.filter(({ file }) => file === good)) {
    assert.deepEqual(page.axe, []);
    assert.deepEqual(page.requests, []);
    assert.deepEqual(page.errors, []);
    assert.equal(page.overflow, false);
  }
  const rules = html.find(({ file }) => file === bad).messages.map(({ rule }) => rule);
  assert.ok(rules.includes("no-dup-id"), `no-dup-id missed: ${rules}`);
  assert.deepEqual(html.find(({ file }) => file === good).messages, []);
  console.log("page check: the faulty page was caught on every count, the sound one on none");
} finally {
  rmSync(folder, { recursive: true, force: true });
}
