// What of the bench reads too badly for WCAG 2.2 at level AA: text below 4.5 to 1, and edges of
// controls below 3 to 1, each with its colours. Controls that are disabled are exempt, and so is a
// control without an edge, which its text shows.
() => {
  const parse = (colour) => {
    const parts = colour.match(/[\d.]+/g).map(Number);
    return parts.length < 4 ? [...parts, 1] : parts;
  };
  const over = (top, under) => [0, 1, 2].map((i) => top[3] * top[i] + (1 - top[3]) * under[i]);
  const luminance = (colour) => {
    const linear = colour.slice(0, 3).map((value) => {
      const share = value / 255;
      return share <= 0.04045 ? share / 12.92 : ((share + 0.055) / 1.055) ** 2.4;
    });
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2];
  };
  const ratio = (a, b) => {
    const [dark, light] = [luminance(a), luminance(b)].sort((x, y) => x - y);
    return (light + 0.05) / (dark + 0.05);
  };
  const above = (element) => (element ? [element, ...above(element.parentElement)] : []);
  const behind = (element) =>
    above(element)
      .reverse()
      .map((one) => parse(getComputedStyle(one).backgroundColor))
      .reduce((under, top) => over(top, under), [255, 255, 255]);
  const poor = new Set();
  for (const element of document.querySelectorAll(".wb *")) {
    const { width, height } = element.getBoundingClientRect();
    const style = getComputedStyle(element);
    if (!width || !height || style.visibility === "hidden") continue;
    if (element.disabled || element.closest(":disabled, .wb-waiting")) continue;
    const drawn = element instanceof SVGElement;
    const says = [...element.childNodes].some((n) => n.nodeType === 3 && n.textContent.trim());
    if (says || element.matches("input[type=text], select, textarea")) {
      const colour = parse(drawn ? style.fill : style.color);
      const ground = behind(drawn ? element.closest("svg").parentElement : element);
      const told = ratio(over(colour, ground), ground);
      if (told < 4.5) poor.add(`text ${colour} on ${ground}: ${told.toFixed(2)}`);
    }
    if (element.placeholder && !element.value) {
      const [hint, ground] = [parse(getComputedStyle(element, "::placeholder").color), behind(element)];
      const told = ratio(over(hint, ground), ground);
      if (told < 4.5) poor.add(`hint ${hint} on ${ground}: ${told.toFixed(2)}`);
    }
    if (element.matches("input[type=text], select, textarea, button")) {
      const edge = parse(style.borderBottomColor);
      const ground = behind(element.parentElement);
      if (!parseFloat(style.borderBottomWidth) || !edge[3]) continue;
      const told = Math.max(ratio(over(edge, ground), ground), ratio(behind(element), ground));
      if (told < 3) poor.add(`edge ${edge} on ${ground}: ${told.toFixed(2)}`);
    }
  }
  return [...poor];
}
