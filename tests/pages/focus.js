// What the focused element is, and what keeps people from seeing that it has the focus.
() => {
  const LEAST_WIDTH_PX = 2, LEAST_CONTRAST = 3; // WCAG 2.2, 2.4.13 and 1.4.11.
  const element = document.activeElement;
  if (!element || element === document.body) return null;
  const words = (element.getAttribute("aria-label") || element.textContent).trim().slice(0, 40);
  const result = {name: `${element.localName}#${element.id} "${words}"`, faults: []};

  const channels = colour => {
    const canvas = document.createElement("canvas").getContext("2d", {willReadFrequently: true});
    canvas.fillStyle = colour;
    canvas.fillRect(0, 0, 1, 1);
    return [...canvas.getImageData(0, 0, 1, 1).data];
  };
  const luminance = ([red, green, blue]) => { // WCAG 2.2, "relative luminance".
    const linear = [red, green, blue].map(level => level / 255)
      .map(part => part <= 0.04045 ? part / 12.92 : ((part + 0.055) / 1.055) ** 2.4);
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2];
  };
  const behind = () => {
    for (let each = element.parentElement; each; each = each.parentElement) {
      const colour = channels(getComputedStyle(each).backgroundColor);
      if (colour[3] === 255) return colour;
    }
    return channels("#ffffff"); // A page without a ground of its own.
  };

  const style = getComputedStyle(element);
  if (style.outlineStyle === "none" || parseFloat(style.outlineWidth) < LEAST_WIDTH_PX)
    result.faults.push(`its outline is ${style.outlineStyle} ${style.outlineWidth}`);
  const [lighter, darker] =
    [luminance(channels(style.outlineColor)), luminance(behind())].sort((a, b) => b - a);
  const contrast = (lighter + 0.05) / (darker + 0.05);
  if (contrast < LEAST_CONTRAST)
    result.faults.push(`its outline has a contrast of ${contrast.toFixed(1)}`);

  const [box] = element.getClientRects();
  if (!box) return {...result, faults: ["it has no box"]};
  const x = box.left + Math.min(box.width, innerWidth) / 2;
  const y = box.top + Math.min(box.height, 20) / 2; // Of a tall region the top line is enough.
  const seen = document.elementFromPoint(x, y);
  if (!element.contains(seen))
    result.faults.push(`${seen?.localName ?? "the window's edge"} hides it`);
  return result;
}
