// Opens pages in a headless browser and judges them.
//
//   node check.mjs [--shot DIR] PAGE.html ...
//
// The browser is the one that POURWRIGHT_CHROMIUM names. Each page is opened as
// a file at three widths in the light and the dark colour scheme. Nothing that
// a page asks for outside its own file is let through; each such request is
// written down. stdout is one JSON value:
//
//   {"pages": [{file, width, theme, axe: [{id, impact, nodes: [{target, summary}]}],
//               unsure: [{id, nodes}], requests: [url], scroll_width, overflow: bool,
//               errors: [text]}],
//    "html":  [{file, messages: [{rule, severity, line, column, message}]}]}
//
// The exit code says whether the judging could be done, not what it found.

import { mkdir } from "node:fs/promises";
import { readFileSync } from "node:fs";
import { createRequire } from "node:module";
import path from "node:path";
import { pathToFileURL } from "node:url";
import { HtmlValidate } from "html-validate";
import { chromium } from "playwright-core";

const WIDTHS = [320, 768, 1440];
const THEMES = ["light", "dark"];
const HEIGHT = 900;
const FLAGS = [
  "--no-sandbox",
  "--disable-gpu",
  "--disable-quic",
  "--disable-dev-shm-usage",
  "--no-first-run",
  "--disable-background-networking",
  "--disable-component-update",
  "--disable-sync",
];
// Only rules of taste are off: how an element is closed, how long a title is,
// that a style sits in the page itself, and blanks at the end of a line.
const TASTE = {
  "doctype-style": "off",
  "long-title": "off",
  "no-inline-style": "off",
  "no-trailing-whitespace": "off",
  "void-style": "off",
};

const require = createRequire(import.meta.url);
const axeSource = readFileSync(require.resolve("axe-core/axe.min.js"), "utf8");

function readArguments(words) {
  const files = [];
  let shots = null;
  for (let at = 0; at < words.length; at += 1) {
    if (words[at] === "--shot") {
      at += 1;
      if (words[at] === undefined) throw new Error("--shot needs a folder");
      shots = words[at];
    } else {
      files.push(path.resolve(words[at]));
    }
  }
  if (files.length === 0) throw new Error("no page named; usage: check.mjs [--shot DIR] PAGE.html ...");
  return { files, shots };
}

async function judgePage(browser, file, width, theme, shots) {
  const own = pathToFileURL(file).href;
  const requests = [];
  const errors = [];
  const context = await browser.newContext({
    viewport: { width, height: HEIGHT },
    colorScheme: theme,
    reducedMotion: "reduce",
  });
  try {
    await context.route("**/*", (route) => {
      const url = route.request().url().split("#")[0];
      if (url === own) return route.continue();
      return route.abort();
    });
    const page = await context.newPage();
    page.on("request", (request) => {
      const url = request.url();
      if (url.split("#")[0] !== own && !url.startsWith("data:")) requests.push(url);
    });
    page.on("websocket", (socket) => requests.push(socket.url()));
    page.on("pageerror", (error) => errors.push(`uncaught: ${error.message}`));
    page.on("console", (message) => {
      if (message.type() === "error") errors.push(`console: ${message.text()}`);
    });
    await page.goto(own, { waitUntil: "load", timeout: 30_000 });
    // Two frames and a moment, for scripts that work after loading.
    await page.evaluate(
      () => new Promise((done) => requestAnimationFrame(() => requestAnimationFrame(done))),
    );
    await page.waitForTimeout(100);
    const measured = await page.evaluate(() => ({
      scrollWidth: Math.max(
        document.documentElement.scrollWidth,
        document.body ? document.body.scrollWidth : 0,
      ),
      innerWidth: window.innerWidth,
    }));
    if (shots !== null) {
      const name = `${path.basename(file, path.extname(file))}-${width}-${theme}.png`;
      await page.screenshot({ path: path.join(shots, name), fullPage: true });
    }
    await page.evaluate(axeSource);
    const found = await page.evaluate(() =>
      window.axe.run(document, { resultTypes: ["violations", "incomplete"] }),
    );
    // With everything unfolded no words stand a letter to a line.
    const squeezed = await page.evaluate(() => {
      document.querySelectorAll("details").forEach((fold) => (fold.open = true));
      return [...document.querySelectorAll("summary, p, li, dt, dd, h2, h3")]
        .filter((at) => {
          const words = at.textContent.trim();
          const size = parseFloat(getComputedStyle(at).fontSize);
          const box = at.getBoundingClientRect();
          return words.length > 8 && box.width > 0 && box.width < 3 * size && box.height > 4 * size;
        })
        .map((at) => {
          const within = [at.parentElement, at].map((of) => `${of.tagName} ${of.className}`.trim());
          return `squeezed: ${at.textContent.trim().slice(0, 60)} (${within.join(" > ")})`;
        });
    });
    errors.push(...squeezed);
    return {
      file,
      width,
      theme,
      axe: found.violations.map((fault) => ({
        id: fault.id,
        impact: fault.impact,
        nodes: fault.nodes.map((node) => ({
          target: node.target.flat().join(" "),
          summary: node.failureSummary ?? "",
        })),
      })),
      unsure: found.incomplete.map((fault) => ({ id: fault.id, nodes: fault.nodes.length })),
      requests,
      scroll_width: measured.scrollWidth,
      overflow: measured.scrollWidth > measured.innerWidth,
      errors,
    };
  } finally {
    await context.close();
  }
}

async function judgeMarkup(validator, file) {
  const report = await validator.validateFile(file);
  const messages = report.results.flatMap((result) =>
    result.messages.map((message) => ({
      rule: message.ruleId,
      severity: message.severity === 2 ? "error" : "warning",
      line: message.line,
      column: message.column,
      message: message.message,
    })),
  );
  return { file, messages };
}

async function main() {
  const { files, shots } = readArguments(process.argv.slice(2));
  const executablePath = process.env.POURWRIGHT_CHROMIUM;
  if (!executablePath) throw new Error("POURWRIGHT_CHROMIUM must name the browser's binary");
  if (shots !== null) await mkdir(shots, { recursive: true });
  const validator = new HtmlValidate({
    root: true,
    extends: ["html-validate:recommended"],
    rules: TASTE,
  });
  const html = [];
  for (const file of files) html.push(await judgeMarkup(validator, file));
  const pages = [];
  const browser = await chromium.launch({ executablePath, headless: true, args: FLAGS });
  try {
    for (const file of files) {
      for (const theme of THEMES) {
        for (const width of WIDTHS) {
          pages.push(await judgePage(browser, file, width, theme, shots));
        }
      }
    }
  } finally {
    await browser.close();
  }
  process.stdout.write(`${JSON.stringify({ pages, html })}\n`);
}

main().catch((error) => {
  process.stderr.write(`check.mjs: ${error.stack ?? error}\n`);
  process.exitCode = 2;
});
