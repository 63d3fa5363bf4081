// Walks the office's pages in a real browser as a secretary would, without the pages'
// JavaScript being on while forms are filled in, and holds every page against axe-core:
// nothing serious or critical may be found, at a desk's width and at a phone's.
//
//     node axe.mjs URL CHROMIUM ACCOUNT PASSWORD
//
// With PICTURES=DIR in the environment every page is left there as a picture.
// Modules are found through NODE_MODULES (puppeteer-core, axe-core).
import { createRequire } from "node:module";
import { readFileSync } from "node:fs";

const [url, chromium, account, password] = process.argv.slice(2);
const require = createRequire(`${process.env.NODE_MODULES}/`);
const puppeteer = (await import(require.resolve("puppeteer-core"))).default;
const axe = readFileSync(require.resolve("axe-core/axe.min.js"), "utf8");
const WIDTHS = [1280, 360];
const GRAVE = ["serious", "critical"];

const browser = await puppeteer.launch({
  executablePath: chromium,
  // Debian's root has no user namespaces to build a sandbox of; only our own pages are seen.
  args: ["--no-sandbox", "--disable-gpu", "--disable-dev-shm-usage"],
});
const page = await browser.newPage();
const faults = [];
const seen = [];

async function hold(name) {
  await page.setJavaScriptEnabled(true);
  for (const width of WIDTHS) {
    await page.setViewport({ width, height: 800 });
    await page.reload();
    await page.evaluate(axe);
    const result = await page.evaluate(() => axe.run(document, { resultTypes: ["violations"] }));
    for (const found of result.violations) {
      const where = found.nodes.map((n) => n.target.join(" ")).slice(0, 3).join("; ");
      const line = `${name} at ${width}: ${found.impact}: ${found.id}: ${found.help}: ${where}`;
      console.log(line);
      if (GRAVE.includes(found.impact)) faults.push(line);
    }
    const wide = await page.evaluate(() => document.documentElement.scrollWidth > window.innerWidth);
    if (wide) faults.push(`${name} at ${width}: the page itself scrolls sideways`);
  }
  if (process.env.PICTURES) {
    await page.setViewport({ width: WIDTHS[0], height: 800 });
    const file = `${process.env.PICTURES}/${seen.length}-${name.replace(/[^a-z]+/g, "-")}.png`;
    await page.screenshot({ path: file, fullPage: true });
  }
  await page.setJavaScriptEnabled(false);
  seen.push(name);
}

// The answer to a form, which must not be sent twice.
async function holdAsItIs(name) {
  await page.setJavaScriptEnabled(true);
  await page.evaluate(axe);
  const result = await page.evaluate(() => axe.run(document, { resultTypes: ["violations"] }));
  for (const found of result.violations) {
    const line = `${name}: ${found.impact}: ${found.id}: ${found.help}`;
    console.log(line);
    if (GRAVE.includes(found.impact)) faults.push(line);
  }
  if (process.env.PICTURES) {
    await page.screenshot({ path: `${process.env.PICTURES}/${seen.length}-code.png`, fullPage: true });
  }
  await page.setJavaScriptEnabled(false);
  seen.push(name);
}

async function go(path, name) {
  await page.goto(url + path);
  await hold(name);
}

async function follow(selector, name) {
  await Promise.all([page.waitForNavigation(), page.click(selector)]);
  await hold(name);
}

await page.setJavaScriptEnabled(false);
await go("/", "inbox");
await follow("#main a[href^='/measures/']", "measure");
await follow("#main a[href^='/dogs/']", "dog");
await go("/", "inbox again");
await follow("#main a[href^='/sessions/']", "session");
await go("/", "inbox once more");
await follow("#main a[href^='/aside/']", "batch set aside");
await go("/search", "empty search");
await page.type("#q", "mo");
await follow("form.search button", "search");
await go("/search?q=nobody", "search without an answer");
await go("/nothing-here", "not there");
await go("/sign-in", "sign-in");
await page.type("#account", account);
await page.type("#password", "a wrong password");
await Promise.all([page.waitForNavigation(), page.click("form.card button")]);
await page.type("#account", account);
await page.type("#password", password);
await follow("form.card button", "inbox, signed in");
await follow("#main a[href^='/measures/']", "measure, signed in");

// A decision and an objection, by keyboard and mouse alone, no script running.
await page.click("form[action^='/decisions/'] input[value='stands']");
await page.type("#reason", "Both phones looked at again.");
await follow("form[action^='/decisions/'] button", "measure, decided");
await page.click("form[action^='/appeals/'] input[value='objection']");
await page.$eval("#happened", (field) => field.setAttribute("value", "2026-11-26"));
await page.type("#words", "She never stood square.");
await follow("form[action^='/appeals/'] button", "measure with an objection");
const text = await page.$eval("#main", (main) => main.textContent);
for (const words of ["Both phones looked at again.", "She never stood square."]) {
  if (!text.includes(words)) faults.push(`'${words}' is not on the page`);
}
await go("/looked", "looks");
await go("/over-time", "returns over time");

// A key that is lost, and a phone that is enrolled.
await go("/people", "people");
await follow("#main a[href='/people/ottoline']", "person");
await page.click("form[action^='/keys/'] input[value='lost']");
await page.$eval("input[name='since']", (field) => field.setAttribute("value", "2026-11-25T09:00"));
await page.type("textarea[name='reason']", "She rang: left in a train.");
await follow("form[action^='/keys/'] button", "person whose key is lost");
await page.click("summary");
await hold("notice as a code");
await go("/phones", "phones");
await page.type("#label", "Bram's own");
await page.select("#person", "bram");
await Promise.all([page.waitForNavigation(), page.click("form[action='/phones/codes'] button")]);
// Not loaded again: a code is made once.
if (!(await page.$("svg.qr"))) faults.push("no code is shown");
await holdAsItIs("one-time code");
await go("/phones", "phones again");
await follow("#main td a, #main th a[href^='/phones/']", "phone");
await go("/", "inbox with an objection");
await browser.close();

console.log(`${seen.length} pages at ${WIDTHS.length} widths, ${faults.length} grave faults`);
for (const fault of faults) console.error(fault);
process.exit(faults.length === 0 ? 0 : 1);
