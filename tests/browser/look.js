// What a person with a thumb, a keyboard or tired eyes would trip over; each answer is a list of complaints.
(() => {
  "use strict";
  const seen = (node) => {
    const box = node.getBoundingClientRect();
    return box.width > 1 && box.height > 1 && node.checkVisibility({ visibilityProperty: true });
  };
  const name = (node) => {
    const words = (node.innerText || node.value || node.name || node.id || "").trim().slice(0, 40);
    return `<${node.tagName.toLowerCase()}${node.className ? " ." + String(node.className.baseVal ?? node.className) : ""}> ${words}`;
  };
  const TARGETS = "a[href], button, input:not([type=hidden]), select, textarea, summary, [tabindex='0']";
  const targets = () => [...document.querySelectorAll(TARGETS)].filter((node) => seen(node) && !node.closest(".skip"));

  return {
    sideways() {
      const root = document.documentElement;
      const over = root.scrollWidth - root.clientWidth;
      if (over <= 0) {
        return [];
      }
      const wide = [...document.querySelectorAll("body *")].filter(
        (node) => node.getBoundingClientRect().right > root.clientWidth + 1);
      return [`${over} px to the side: ${wide.slice(0, 3).map(name).join("; ")}`];
    },

    // A label around a box is part of its target.
    smallTargets(least) {
      return targets().flatMap((node) => {
        const area = (node.closest("label") || node).getBoundingClientRect();
        return area.height < least - 0.5 || area.width < least - 0.5
          ? [`${Math.round(area.width)} x ${Math.round(area.height)}: ${name(node)}`] : [];
      });
    },

    smallText(least) {
      const found = new Set();
      const walker = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
      while (walker.nextNode()) {
        const node = walker.currentNode.parentElement;
        if (!walker.currentNode.nodeValue.trim() || !seen(node) || node.closest("script, style")) {
          continue;
        }
        const matrix = node.ownerSVGElement ? node.getScreenCTM() : null;
        const size = parseFloat(getComputedStyle(node).fontSize) * (matrix ? Math.abs(matrix.d) : 1);
        if (size < least - 0.1) {
          found.add(`${size.toFixed(1)} px: ${name(node)}`);
        }
      }
      return [...found];
    },

    // Values, in the largest type, are whole: neither wrapped nor cut.
    cutValues() {
      return [...document.querySelectorAll(".value:not(.name)")].filter(seen).flatMap((node) => {
        const lines = new Set([...node.getClientRects()].map((box) => Math.round(box.top)));
        return node.scrollWidth > node.clientWidth + 1 || lines.size > 1
          ? [`${node.scrollWidth} px in ${node.clientWidth}: ${name(node)}`] : [];
      });
    },

    // Tab goes as one reads: on to the right or further down, never back up to the left.
    outOfOrder() {
      const wrong = [];
      if (document.querySelector("[tabindex]:not([tabindex='0']):not([tabindex='-1'])")) {
        wrong.push("a tabindex of its own");
      }
      const stops = targets().filter((node) => node.tabIndex >= 0 && node.type !== "radio" && !node.disabled);
      const area = (node) => (node.closest("label") || node).getBoundingClientRect();
      for (let i = 1; i < stops.length; i += 1) {
        const [one, two] = [area(stops[i - 1]), area(stops[i])];
        const up = two.bottom <= one.top + 1;
        const left = two.left < one.left && two.bottom <= one.bottom;
        if ((up && two.left < one.right) || left) {
          wrong.push(`${name(stops[i - 1])} and then ${name(stops[i])}`);
        }
      }
      return wrong;
    },

    focused() {
      const node = document.activeElement;
      const style = getComputedStyle(node);
      return {
        name: node === document.body ? "" : name(node),
        outline: style.outlineStyle === "none" ? 0 : parseFloat(style.outlineWidth),
      };
    },
  };
})()
