// Drives the page for writing down in a phone-sized browser, for tests/phone.rs.
//
//   node log.mjs ADDRESS SCENE [ARGUMENT ...]
//
// The browser is the one that POURWRIGHT_CHROMIUM names. stdout is one JSON value; what it holds is
// told at each scene. The exit code says whether the scene could be played.

import path from "node:path";
import { mkdir } from "node:fs/promises";
import { readFileSync } from "node:fs";
import { createRequire } from "node:module";
import { chromium } from "playwright-core";

const FLAGS = ["--no-sandbox", "--disable-gpu", "--disable-dev-shm-usage", "--no-first-run", "--disable-background-networking", "--disable-component-update", "--disable-sync"];
const PHONE = { viewport: { width: 390, height: 844 }, hasTouch: true, isMobile: true, deviceScaleFactor: 2 };
const [address, scene, ...words] = process.argv.slice(2);
const shots = process.env.POURWRIGHT_SHOTS;
const errors = [];

async function shot(page, name) {
  if (!shots) return;
  await mkdir(shots, { recursive: true });
  await page.screenshot({ path: path.join(shots, `phone-${name}.png`), fullPage: true });
}

async function phone(browser, at = "/log") {
  const context = await browser.newContext(PHONE);
  const page = await context.newPage();
  page.on("pageerror", (error) => errors.push(error.message));
  page.setDefaultTimeout(60_000);
  await page.goto(address + at);
  return { context, page };
}

const home = (page) => page.waitForSelector("#next button", { timeout: 120_000 });

// Something to remember, from the first view back to it.
async function note(page, text) {
  await page.click("#next button:has-text('Something to remember')");
  await page.fill("fieldset[name=words] input", text);
  await page.click("#check");
  await page.click("#write");
  await home(page);
}

const waiting = (page) => page.locator("#waiting button").count();
async function sent(page) {
  await page.waitForFunction(() => !document.querySelector("#waiting"), null, { timeout: 180_000 });
}

const scenes = {
  // Ten entries; the line is cut after the third and comes back after the eighth. Of the ninth the
  // answer never arrives, so that it is sent again. {kept: on the phone while away}
  async ten(browser) {
    const { context, page } = await phone(browser);
    await home(page);
    await shot(page, "home");
    for (let n = 1; n <= 3; n += 1) await note(page, `entry ${n}`);
    await context.setOffline(true);
    for (let n = 4; n <= 6; n += 1) await note(page, `entry ${n}`);
    await shot(page, "away");
    const kept = await waiting(page);
    // The page is closed by the phone, and opened again once there is a line.
    await page.close();
    await context.setOffline(false);
    const again = await context.newPage();
    again.on("pageerror", (error) => errors.push(error.message));
    await again.goto(address + "/log");
    await home(again);
    await sent(again);
    let lost = 0;
    await again.route("**/log/write", async (route) => {
      if (lost === 0) {
        lost += 1;
        await route.fetch();
        await route.abort();
      } else {
        await route.continue();
      }
    });
    for (let n = 7; n <= 10; n += 1) await note(again, `entry ${n}`);
    await sent(again);
    return { kept, lost };
  },

  // Two phones write five each at once. {}
  async two(browser) {
    const phones = await Promise.all([phone(browser), phone(browser)]);
    await Promise.all(phones.map(async ({ page }, at) => {
      await home(page);
      for (let n = 1; n <= 5; n += 1) await note(page, `phone ${at + 1} entry ${n}`);
      await sent(page);
    }));
    return {};
  },

  // A mould is opened with its mass by the pad, a picture with it, and what is odd about it.
  // {doubts, entry: as shown, sizes: of what is tapped in each view, axe: findings}
  async opened(browser) {
    const require = createRequire(import.meta.url);
    const axe = readFileSync(require.resolve("axe-core/axe.min.js"), "utf8");
    const { page } = await phone(browser);
    await home(page);
    const sizes = [];
    const found = [];
    const measure = async (view) => {
      sizes.push(...await page.evaluate((view) => {
        const tapped = Array.from(document.querySelectorAll("button,select,label.box,label.file,input:not([type=file]):not(.box input)"));
        const seen = tapped.filter((n) => n.checkVisibility());
        return seen.map((n) => { const box = n.getBoundingClientRect(); return { view, what: n.textContent || n.ariaLabel, wide: box.width, high: box.height }; });
      }, view));
      await page.evaluate(axe);
      const told = await page.evaluate(() => window.axe.run(document));
      found.push(...told.violations.map((fault) => ({ view, id: fault.id, impact: fault.impact, at: fault.nodes.map((n) => n.html.slice(0, 120)) })));
      const wide = await page.evaluate(() => document.documentElement.scrollWidth - innerWidth);
      if (wide > 0) found.push({ view, id: "wider than the phone", impact: "serious", wide });
    };
    await measure("home");
    await page.click("#next button:has-text('Opened')");
    const says = await page.textContent("main .care");
    await page.click("fieldset[name=mass] input");
    await measure("pad");
    for (const key of ["1", "2", ".", "5"]) await page.locator("#pad").getByRole("button", { name: key, exact: true }).click();
    await shot(page, "pad");
    await page.click("#good");
    await page.click("fieldset[name=after] input");
    for (const key of ["1"]) await page.locator("#pad").getByRole("button", { name: key, exact: true }).click();
    await page.click("#good");
    await page.setInputFiles("input[type=file]", words[0]);
    await page.waitForSelector("main img");
    await measure("form");
    await shot(page, "form");
    await page.click("#check");
    await page.waitForSelector("#write");
    await measure("check");
    await shot(page, "check");
    const entry = await page.textContent("main pre");
    const doubts = await page.locator("main .care").allTextContents();
    await page.click("#write");
    await home(page);
    await sent(page);
    return { says, doubts, entry, sizes, axe: found };
  },

  // A mould is opened, told without a line; meanwhile another phone tells the same. What came second
  // is refused, told, and stays. {why}
  async refused(browser) {
    const opened = async (page) => {
      await page.click("#next button:has-text('Opened')");
      await page.click("#check");
      await page.click("#write");
      await home(page);
    };
    const first = await phone(browser);
    const second = await phone(browser);
    await Promise.all([home(first.page), home(second.page)]);
    await first.context.setOffline(true);
    await opened(first.page);
    await opened(second.page);
    await sent(second.page);
    await first.context.setOffline(false);
    await first.page.waitForSelector("#waiting small.care", { timeout: 120_000 });
    await first.page.click("#waiting button");
    const why = await first.page.textContent("main p.care");
    await shot(first.page, "refused");
    return { why };
  },

  // Pairs with a code, then writes one entry. {wrong: what a wrong code is told}
  async pair(browser) {
    const { page } = await phone(browser, "/log#WRONGWRG");
    await page.waitForSelector("main .care");
    const wrong = await page.textContent("main .care");
    await shot(page, "pair");
    await page.fill("#code", words[0].toLowerCase());
    await page.click("main button:has-text('Pair')");
    await home(page);
    await note(page, "from a paired phone");
    await sent(page);
    await page.goto(address + "/");
    const framed = page.frameLocator("iframe").locator("h1");
    const report = await framed.first().textContent({ timeout: 60_000 });
    return { wrong, report };
  },

  // The report while its files change: what was opened, filtered and scrolled is so after it.
  // Waits for `changed` on stdin, once it has written `ready`. {before, after, banner, kept}
  async report(browser) {
    const page = await (await browser.newContext({ viewport: { width: 1100, height: 800 } })).newPage();
    page.on("pageerror", (error) => errors.push(error.message));
    await page.goto(address + "/");
    const inner = () => page.frames().find((frame) => frame.url().endsWith("/report"));
    await page.frameLocator("iframe").locator("#parts-table").waitFor({ state: "attached", timeout: 120_000 });
    await inner().evaluate(() => {
      const details = document.querySelectorAll("details");
      details[details.length - 1].open = true;
      document.querySelector("#parts-table").closest("details").open = true;
      document.getElementById("sift-words").value = "a";
      document.getElementById("sift-words").dispatchEvent(new Event("input", { bubbles: true }));
      document.querySelector("#parts-table th button").click();
      document.querySelector("#parts-table th button").click();
      document.querySelector("#parts-table").scrollIntoView();
      window.old = true;
    });
    const state = () => inner().evaluate(() => {
      const details = document.querySelectorAll("details");
      return {
        open: details[details.length - 1].open,
        words: document.getElementById("sift-words").value,
        seen: document.getElementById("sift-count").textContent,
        sorted: document.querySelector("#parts-table th").getAttribute("aria-sort"),
        top: Math.round(document.querySelector("#parts-table").getBoundingClientRect().top),
      };
    });
    const before = await state();
    const turns = process.stdin[Symbol.asyncIterator]();
    const turn = async (word) => { process.stderr.write(`${word}\n`); await turns.next(); };
    await turn("ready");
    for (let i = 0; i < 600; i += 1) {
      if (await inner().evaluate(() => !window.old && document.readyState === "complete").catch(() => false)) break;
      await page.waitForTimeout(100);
    }
    await page.waitForTimeout(500);
    const after = await state();
    await turn("seen");
    await page.waitForSelector("#faults:not([hidden])", { timeout: 60_000 });
    const banner = await page.textContent("#faults");
    if (shots) await page.screenshot({ path: path.join(shots, "banner.png") });
    const kept = await state();
    await turn("told");
    await page.waitForSelector("#faults[hidden]", { state: "attached", timeout: 60_000 });
    process.stdin.destroy();
    return { before, after, banner, kept };
  },
};

const browser = await chromium.launch({ executablePath: process.env.POURWRIGHT_CHROMIUM, headless: true, args: FLAGS });
try {
  const found = await scenes[scene](browser);
  process.stdout.write(`${JSON.stringify({ ...found, errors })}\n`);
} catch (error) {
  process.stderr.write(`log.mjs: ${error.stack ?? error}\nerrors of the page: ${errors.join("\n")}\n`);
  process.exitCode = 2;
} finally {
  await browser.close();
}
