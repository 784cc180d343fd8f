// Prints pages as PDF, all by one browser: node print.mjs PAGE.html ... writes PAGE.pdf beside each.
// The browser is the one that POURWRIGHT_CHROMIUM names.

import { pathToFileURL } from "node:url";
import { chromium } from "playwright-core";

const FLAGS = ["--no-sandbox", "--disable-gpu", "--disable-dev-shm-usage", "--no-first-run", "--disable-background-networking", "--disable-component-update", "--disable-sync"];
const browser = await chromium.launch({ executablePath: process.env.POURWRIGHT_CHROMIUM, headless: true, args: FLAGS });
try {
  const page = await browser.newPage();
  for (const file of process.argv.slice(2)) {
    await page.goto(pathToFileURL(file).href);
    await page.pdf({ path: file.replace(/html$/, "pdf"), preferCSSPageSize: true, printBackground: true });
  }
} finally {
  await browser.close();
}
