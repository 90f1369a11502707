#!/usr/bin/env python3
"""Opens HTML reports in headless Chromium, and looks at them as a reader would.

in_browser.py PROGRAM [FOLDER]    makes reports of a demo case and of a hostile one, checks both;
                                  screenshots and the printed page go to FOLDER, if given

Checked: nothing on the console, no request leaves the file, no script ran, clips play, tables open
by keyboard, contrast of all text (WCAG 2.1, 1.4.3: 4.5 to 1; 3 to 1 for large text) in light and
dark, every picture has a text alternative and is shown, nothing is wider than a narrow screen, and
the page prints. Speaks the DevTools protocol through a pipe, so that it needs no package but
Chromium itself.
"""

import base64
import json
import os
import subprocess
import sys
import tempfile
import time
from pathlib import Path

sys.dont_write_bytecode = True
sys.path.insert(0, str(Path(__file__).resolve().parent))
import hostile_case  # noqa: E402

SECONDS = 60

CONTRAST = r"""
(() => {
  const rgb = text => text.match(/[\d.]+/g).map(Number);
  const linear = v => (v /= 255) <= 0.03928 ? v / 12.92 : ((v + 0.055) / 1.055) ** 2.4;
  const luminance = c => 0.2126 * linear(c[0]) + 0.7152 * linear(c[1]) + 0.0722 * linear(c[2]);
  const ratio = (a, b) => {
    const [x, y] = [luminance(a), luminance(b)].sort((p, q) => q - p);
    return (x + 0.05) / (y + 0.05);
  };
  const background = node => {
    for (; node; node = node.parentElement) {
      const c = rgb(getComputedStyle(node).backgroundColor);
      if (c.length < 4 || c[3] > 0) return c;
    }
    return [255, 255, 255];
  };
  const worst = {};
  const walker = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
  let count = 0;
  while (walker.nextNode()) {
    const node = walker.currentNode.parentElement;
    if (!walker.currentNode.data.trim() || node.closest("template")) continue;
    const style = getComputedStyle(node);
    const size = parseFloat(style.fontSize);
    const large = size >= 24 || (size >= 18.66 && parseInt(style.fontWeight) >= 700);
    const value = ratio(rgb(style.color), background(node));
    const key = node.tagName + "." + node.className;
    ++count;
    if (value < (large ? 3 : 4.5)) worst[key] = Math.round(100 * value) / 100;
  }
  return {count, worst};
})()
"""

PLAY = r"""
(async () => {
  const played = [];
  for (const clip of document.querySelectorAll("audio")) {
    await clip.play();
    const started = clip.currentTime;
    await new Promise(done => setTimeout(done, 400));
    played.push({seconds: clip.duration, moved: clip.currentTime - started,
                 error: clip.error && clip.error.message});
    clip.pause();
  }
  return played;
})()
"""


class Browser:
    """One page of a headless Chromium."""

    def __init__(self, folder):
        to_browser, self.to_browser = os.pipe()
        self.from_browser, from_browser = os.pipe()
        self.process = subprocess.Popen(
            ["bash", "-c", 'exec 3<&%d 4>&%d; exec "$@"' % (to_browser, from_browser), "bash",
             "chromium", "--headless=new", "--no-sandbox", "--disable-gpu", "--mute-audio",
             "--autoplay-policy=no-user-gesture-required", "--remote-debugging-pipe",
             f"--user-data-dir={folder}", "--window-size=1100,900", "about:blank"],
            pass_fds=(to_browser, from_browser), stdout=subprocess.DEVNULL,
            stderr=subprocess.DEVNULL)
        os.close(to_browser)
        os.close(from_browser)
        self.events, self.number, self.rest = [], 0, b""
        pages = self.call("Target.getTargets")["targetInfos"]
        page = next(p for p in pages if p["type"] == "page")
        self.session = self.call("Target.attachToTarget", targetId=page["targetId"],
                                 flatten=True)["sessionId"]
        for domain in ("Page", "Runtime", "Log", "Network"):
            self.page(f"{domain}.enable")

    def message(self):
        while b"\0" not in self.rest:
            piece = os.read(self.from_browser, 1 << 16)
            if not piece:
                raise RuntimeError("Chromium has ended")
            self.rest += piece
        text, self.rest = self.rest.split(b"\0", 1)
        return json.loads(text)

    def call(self, method, session=None, **params):
        self.number += 1
        request = {"id": self.number, "method": method, "params": params}
        if session:
            request["sessionId"] = session
        os.write(self.to_browser, json.dumps(request).encode() + b"\0")
        end = time.monotonic() + SECONDS
        while time.monotonic() < end:
            answer = self.message()
            if answer.get("id") == self.number:
                if "error" in answer:
                    raise RuntimeError(f"{method}: {answer['error']}")
                return answer["result"]
            self.events.append(answer)
        raise RuntimeError(f"{method}: no answer")

    def page(self, method, **params):
        return self.call(method, self.session, **params)

    def value(self, script):
        result = self.page("Runtime.evaluate", expression=script, returnByValue=True,
                           awaitPromise=True)
        if "exceptionDetails" in result:
            raise RuntimeError(json.dumps(result["exceptionDetails"])[:500])
        return result["result"].get("value")

    def open(self, file):
        self.events.clear()
        self.page("Page.navigate", url=file.resolve().as_uri())
        end = time.monotonic() + SECONDS
        while self.value("document.readyState") != "complete" and time.monotonic() < end:
            time.sleep(0.1)

    def key(self, key, code):
        for kind in ("keyDown", "keyUp"):
            self.page("Input.dispatchKeyEvent", type=kind, key=key, windowsVirtualKeyCode=code,
                      **({"text": "\r"} if key == "Enter" and kind == "keyDown" else {}))

    def media(self, scheme):
        self.page("Emulation.setEmulatedMedia",
                  features=[{"name": "prefers-color-scheme", "value": scheme}])

    def screenshot(self, file, height=1600):
        shot = self.page("Page.captureScreenshot", format="png",
                         clip={"x": 0, "y": 0, "width": 1100, "height": height, "scale": 1},
                         captureBeyondViewport=True)
        file.write_bytes(base64.b64decode(shot["data"]))

    def close(self):
        try:
            self.call("Browser.close")
            self.process.wait(10)
        finally:
            self.process.kill()


def complaints_of_events(events):
    for event in events:
        kind, params = event.get("method", ""), event.get("params", {})
        if kind == "Network.requestWillBeSent":
            url = params["request"]["url"]
            if not url.startswith(("file:", "data:")):
                yield f"a request leaves the file: {url[:100]}"
        elif kind in ("Runtime.consoleAPICalled", "Runtime.exceptionThrown"):
            yield f"the console says: {json.dumps(params)[:300]}"
        elif kind == "Log.entryAdded":
            yield f"the log says: {params['entry']['text'][:300]}"
        elif kind == "Page.javascriptDialogOpening":
            yield "a dialog opened: a script ran"


def keyboard_opens_a_table(browser):
    """Tab from the top until a summary has the focus, then Enter."""
    browser.value("window.scrollTo(0, 0); document.activeElement.blur()")
    for _ in range(80):
        browser.key("Tab", 9)
        if browser.value("document.activeElement.tagName") == "SUMMARY":
            browser.key("Enter", 13)
            return browser.value("document.activeElement.parentElement.open")
    return False


def complaints_about(browser, file, folder, clips_expected):
    browser.page("Emulation.clearDeviceMetricsOverride")
    browser.open(file)
    for scheme in ("light", "dark"):
        browser.media(scheme)
        contrast = browser.value(CONTRAST)
        if contrast["worst"] or contrast["count"] < 100:
            yield f"contrast, {scheme}: {contrast}"
        if folder:
            browser.screenshot(folder / f"{file.stem}-{scheme}.png")
    browser.media("light")
    if browser.value("document.scripts.length") != 0 or browser.value("window.pwned === true"):
        yield "there is a script, or one ran"
    images = browser.value("[...document.images].map(i => [i.alt.length, i.naturalWidth])")
    if not images or any(alt == 0 or width == 0 for alt, width in images):
        yield f"a picture is not shown, or has no words: {images}"
    played = browser.value(PLAY)
    if len(played) < clips_expected or any(
            c["error"] or not c["moved"] > 0.1 or not 0.4 < c["seconds"] < 5 for c in played):
        yield f"clips do not play: {played}"
    if not keyboard_opens_a_table(browser):
        yield "no table opens by keyboard"
    browser.page("Emulation.setDeviceMetricsOverride", width=390, height=800, deviceScaleFactor=1,
                 mobile=True)
    wide = browser.value("document.documentElement.scrollWidth")
    if wide > 395:
        yield f"wider than a narrow screen: {wide}"
    browser.page("Emulation.clearDeviceMetricsOverride")
    printed = base64.b64decode(browser.page("Page.printToPDF", preferCSSPageSize=True)["data"])
    if not printed.startswith(b"%PDF") or len(printed) < 20000:
        yield "the page does not print"
    if folder:
        (folder / f"{file.stem}-printed.pdf").write_bytes(printed)
    yield from complaints_of_events(browser.events)


def make_reports(program, folder):
    run = lambda *words: subprocess.run([program, *words], cwd=folder, check=True,
                                        stdout=subprocess.DEVNULL)
    run("demo", "demos")
    run("report", "demos/transmission-pump", "--out", "plain.html", "--after",
        "demos/transmission-pump-repaired")
    hostile_case.make(folder / "demos/compressor-drift")
    run("report", "demos/compressor-drift", "--out", "hostile.html")
    return [folder / "plain.html", folder / "hostile.html"]


def main(arguments):
    keep = Path(arguments[1]) if len(arguments) > 1 else None
    if keep:
        keep.mkdir(parents=True, exist_ok=True)
    failures = 0
    with tempfile.TemporaryDirectory(ignore_cleanup_errors=True) as name:
        folder = Path(name)
        reports = make_reports(str(Path(arguments[0]).resolve()), folder)
        browser = Browser(folder / "profile")
        try:
            for report in reports:
                complaints = list(complaints_about(browser, report, keep, clips_expected=2))
                failures += len(complaints)
                print(f"{report.name}: {'good' if not complaints else ''}")
                print("".join(f"  {c}\n" for c in complaints), end="")
        finally:
            browser.close()
    return 1 if failures else 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
