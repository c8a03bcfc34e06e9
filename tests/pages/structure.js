// What is wrong with the page's ids, links, headings and the names of its pictures, as sentences.
() => {
  const found = [];
  const all = selector => [...document.querySelectorAll(selector)];
  const ids = all("[id]").map(element => element.id);
  const known = new Set(ids);
  for (const [place, id] of ids.entries()) {
    if (ids.indexOf(id) < place) found.push(`id "${id}" is there twice`);
    if (!id || /\s/.test(id)) found.push(`id "${id}" is not an id`);
  }

  for (const link of all("a[href]")) {
    const target = link.getAttribute("href");
    if (!target.startsWith("#")) found.push(`link "${target}" leads out of the page`);
    else if (!known.has(decodeURIComponent(target.slice(1))))
      found.push(`link "${target}" leads nowhere`);
  }
  for (const name of ["aria-labelledby", "aria-describedby", "aria-controls", "for", "headers"])
    for (const element of all(`[${name}]`))
      for (const id of element.getAttribute(name).split(/\s+/))
        if (!known.has(id)) found.push(`${name} "${id}" names nothing`);

  const words = id => document.getElementById(id)?.textContent.trim() ?? "";
  for (const picture of all("svg:not([aria-hidden=true], [aria-hidden=true] *)")) {
    const labels = (picture.getAttribute("aria-labelledby") ?? "").split(/\s+/);
    const name = labels.map(words).join(" ").trim() || picture.getAttribute("aria-label");
    if (picture.getAttribute("role") !== "img" || !name)
      found.push(`a picture has no name: ${picture.outerHTML.slice(0, 80)}`);
  }

  let level = 0;
  for (const heading of all("h1, h2, h3, h4, h5, h6")) {
    const [next, title] = [Number(heading.localName[1]), heading.textContent.trim()];
    if (next > level + 1) found.push(`heading "${title}" is h${next} after h${level}`);
    if (!title) found.push(`an ${heading.localName} is empty`);
    level = next;
  }
  const titles = all("h1").length;
  if (titles !== 1) found.push(`the page has ${titles} main headings`);
  return found;
}
