// Every place where something is wider than what holds it, as sentences.
(paged) => {
  const SLACK_PX = 1; // Widths in fractions of a pixel are rounded by the browser.
  const found = [];
  const named = element => {
    const id = element.id ? `#${element.id}` : "";
    const kinds = [...element.classList].map(name => `.${name}`).join("");
    const words = element.textContent.trim().replace(/\s+/g, " ").slice(0, 40);
    return `${element.localName}${id}${kinds} "${words}"`;
  };
  const scrolls = element => ["auto", "scroll"].includes(getComputedStyle(element).overflowX);
  const isForTheEyes = element => {
    for (let each = element; each; each = each.parentElement) {
      const box = each.getBoundingClientRect();
      if (box.width <= 1 && box.height <= 1) return false; // Words for screen readers alone.
    }
    return element.checkVisibility({visibilityProperty: true});
  };
  const waitsOutside = element => { // As a link that skips to the content does until it is focused.
    if (element.getBoundingClientRect().right > 0) return false;
    element.focus();
    const box = element.getBoundingClientRect();
    element.blur();
    return box.left >= 0 && box.right <= innerWidth;
  };
  const insideAScroller = element => {
    for (let each = element.parentElement; each !== document.body; each = each.parentElement)
      if (scrolls(each)) return true;
    return false;
  };

  const widest = document.documentElement.scrollWidth;
  if (widest > innerWidth) {
    const reaches = element => element.getBoundingClientRect().right >= widest - SLACK_PX;
    // What is placed absolutely leaves a scroller that is not placed itself.
    const leaves = element => getComputedStyle(element).position === "absolute";
    const makesIt = [...document.body.querySelectorAll("*")]
      .find(each => reaches(each) && (leaves(each) || !insideAScroller(each)));
    const by = makesIt ? ` by ${named(makesIt)}` : "";
    found.push(`the page is ${widest} px wide in a window of ${innerWidth}${by}`);
  }

  for (const element of document.body.querySelectorAll("*:not(svg *)")) {
    if (!isForTheEyes(element) || waitsOutside(element)) continue;
    const box = element.getBoundingClientRect();
    const isOutside = box.right > innerWidth + SLACK_PX || box.left < -SLACK_PX;
    const isBox = getComputedStyle(element).display !== "inline"; // A blank may hang over a line.
    if (isOutside && isBox && !insideAScroller(element))
      found.push(`${named(element)} stands outside the window`);
    const holds = element.clientWidth > 0 && element.localName !== "svg";
    const isFull = element.scrollWidth > element.clientWidth + SLACK_PX;
    if (holds && isFull && (paged || !scrolls(element)))
      found.push(`${named(element)} holds ${element.scrollWidth} px in ${element.clientWidth}`);
  }
  for (const label of document.body.querySelectorAll("svg text")) {
    if (!isForTheEyes(label)) continue;
    const box = label.getBoundingClientRect();
    const picture = label.ownerSVGElement.getBoundingClientRect();
    const sticksOut = box.left < picture.left - SLACK_PX || box.right > picture.right + SLACK_PX ||
      box.top < picture.top - SLACK_PX || box.bottom > picture.bottom + SLACK_PX;
    if (sticksOut) found.push(`${named(label)} is cut off by its picture`);
  }
  return found;
}
