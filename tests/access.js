// What a page is to a thumb, an eye and a keyboard. `tests/access.py` puts this beside the page and asks.
window.looking = (() => {
  const CONTROLS = "a[href], button, input:not([type=hidden]), select, textarea, summary";
  const controls = () => [...document.querySelectorAll(CONTROLS)];
  const nameOf = (element) => {
    const called = element.innerText || element.ariaLabel || element.name || element.id || "";
    return `${element.tagName.toLowerCase()} “${called.trim().slice(0, 40)}”`;
  };

  // What an element is to a style sheet: those of one kind look alike wherever they stand.
  const kind = (element) => [
    element.parentElement.localName, element.localName, element.type || "", ...element.classList].join(" ");
  const kinds = () => {
    const shown = [...document.querySelectorAll("body *")].filter((element) => element.checkVisibility());
    return [...new Set(shown.map(kind))];
  };

  // Take away all but the first two of each kind in a row, and the strokes of drawings: they would be found the
  // same, and each costs time.
  const thin = () => {
    document.querySelectorAll("svg :is(path, circle, line, rect, polyline, text)").forEach((stroke) => {
      if (!stroke.closest("a, defs, pattern")) stroke.remove();
    });
    for (const parent of document.querySelectorAll("main, main *")) {
      const met = {};
      for (const child of [...parent.children]) {
        met[kind(child)] = (met[kind(child)] || 0) + 1;
        if (met[kind(child)] > 2) child.remove();
      }
    }
  };

  // Take away whatever shows no kind but those seen before.
  const keepNew = (seen) => {
    const known = new Set(seen);
    for (const element of document.querySelectorAll("main *, header *, .bar *")) {
      const old = [element, ...element.querySelectorAll("*")].every((one) => known.has(kind(one)));
      if (element.isConnected && old) element.remove();
    }
  };

  // Show another page in the place of this one, without its scripts.
  const showInstead = async (address) => {
    const answer = await fetch(address);
    const other = new DOMParser().parseFromString(await answer.text(), "text/html");
    document.title = other.title;
    const linked = [...other.querySelectorAll("link[rel=stylesheet]")].map((link) => link.href);
    const here = [...document.querySelectorAll("link[rel=stylesheet]")];
    here.forEach((link) => { link.disabled = !linked.includes(link.href); });
    for (const href of linked.filter((one) => !here.some((link) => link.href === one))) {
      await new Promise((done) => {
        const link = document.createElement("link");
        Object.assign(link, { rel: "stylesheet", href, onload: done });
        document.head.append(link);
      });
    }
    document.adoptedStyleSheets = [...other.querySelectorAll("style")].map((style) => {
      const sheet = new CSSStyleSheet();
      sheet.replaceSync(style.textContent);
      return sheet;
    });
    document.body.replaceWith(document.adoptNode(other.body));
    scrollTo(0, 0);
  };

  const unfold = () => document.querySelectorAll("details").forEach((fold) => { fold.open = true; });

  const wear = (look) => { document.documentElement.className = look; };

  const seen = (element) => element.checkVisibility({ visibilityProperty: true });
  const inText = (element) => element instanceof HTMLElement && getComputedStyle(element).display === "inline"
    && element.parentElement.innerText.trim() !== element.innerText.trim();
  const keptStill = (element) => element.closest(".bar, .outbox, .news");

  // Every target with its box on the page, or the name of the exception that it is.
  const targets = (exceptions) => controls().filter(seen).map((element) => {
    const excepted = exceptions.find((selector) => element.matches(selector)) || (inText(element) ? "in text" : "");
    const hit = element.closest("label") || element;
    return { element, hit, excepted, name: nameOf(element), box: hit.getBoundingClientRect() };
  });

  // How far apart two boxes stand when each is shrunk, about its middle, to the floor: what is larger than the floor
  // has its distance within.
  const apart = (one, other, floor) => {
    const along = (begin, end, size) => {
      const spare = Math.max(0, one[size] - floor) / 2 + Math.max(0, other[size] - floor) / 2;
      return Math.max(other[begin] - one[end], one[begin] - other[end]) + spare;
    };
    return Math.max(along("left", "right", "width"), along("top", "bottom", "height"));
  };

  // The targets below the floor and the pairs nearer than the gap, and how many were measured or excepted.
  const reach = ([floor, gap, exceptions]) => {
    const all = targets(exceptions);
    const judged = all.filter(({ excepted }) => !excepted);
    const small = judged.filter(({ box }) => Math.min(box.width, box.height) < floor - 0.5)
      .map(({ name, box }) => `${name} is ${Math.round(box.width)} × ${Math.round(box.height)}`);
    const near = judged.flatMap((one, index) => judged.slice(index + 1)
      .filter((other) => !one.hit.contains(other.hit) && !other.hit.contains(one.hit))
      .filter((other) => keptStill(one.hit) === keptStill(other.hit))
      .map((other) => [other, apart(one.box, other.box, floor)])
      .filter(([, distance]) => distance < gap - 0.5)
      .map(([other, distance]) => `${one.name} and ${other.name} are ${Math.round(distance)} apart`));
    const excepted = all.filter((one) => one.excepted).map((one) => one.excepted);
    return { faults: [...small, ...near], measured: judged.length, excepted };
  };

  // What is cut off, and what covers the page.
  const cutOff = () => {
    const cut = [...document.querySelectorAll("body *")].filter((element) => {
      const apart = element.closest(".unseen, .for-ears, .skip, select, input");
      if (!(element instanceof HTMLElement) || !seen(element) || apart) return false;
      const { overflowX, overflowY } = getComputedStyle(element);
      return (/hidden|clip/.test(overflowX) && element.scrollWidth > element.clientWidth + 1)
        || (/hidden|clip/.test(overflowY) && element.scrollHeight > element.clientHeight + 1);
    }).map((element) => `${element.outerHTML.slice(0, 90)} is cut off`);
    const over = [...document.querySelectorAll("div.bar, .news")]
      .filter((bar) => seen(bar) && bar.getBoundingClientRect().height > innerHeight / 2)
      .map((bar) => `${bar.outerHTML.slice(0, 90)} covers half the page`);
    return [...cut, ...over];
  };

  const headings = () => [...document.querySelectorAll("h1,h2,h3,h4,h5,h6")]
    .filter((heading) => heading.checkVisibility()).map((heading) => Number(heading.tagName[1]));

  const tooWide = (most) => document.documentElement.scrollWidth <= most ? [] :
    [...document.querySelectorAll("main *, header *, .bar *")]
      .filter((e) => e.getBoundingClientRect().right > most + 1 && !e.closest(".scroll"))
      .slice(0, 4).map((e) => e.outerHTML.slice(0, 120))
      .concat(`the page is ${document.documentElement.scrollWidth} wide`);

  // How the focus is seen on one control that has it.
  const focus = (element) => {
    const style = getComputedStyle(element);
    const box = element.getBoundingClientRect();
    const bar = document.querySelector("div.bar");
    const barTop = bar && !bar.contains(element) ? bar.getBoundingClientRect().top : innerHeight;
    const ring = style.outlineStyle !== "none" ? parseFloat(style.outlineWidth) : 0;
    if (ring < 2) return [`${nameOf(element)} has no ring`];
    if (box.top >= barTop || box.bottom <= 0) return [`${nameOf(element)} is out of sight with the focus`];
    return [];
  };

  // Every control of a kind not seen before gets the focus in turn, as by a key: the last thing touched was one.
  const focused = (seen) => {
    const known = new Set(seen);
    return controls().filter((element) => !known.has(kind(element))).flatMap((element) => {
      element.focus();
      return document.activeElement === element ? focus(element) : [];
    });
  };

  // As a person walks with the Tab key: what was wrong at each stop, in the end.
  const watchFocus = () => {
    window.stops = [];
    document.addEventListener("focusin", ({ target }) => window.stops.push(focus(target)));
    return controls().length;
  };

  return { showInstead, kinds, thin, keepNew, unfold, wear, cutOff, reach, headings, tooWide, focused, watchFocus };
})();
