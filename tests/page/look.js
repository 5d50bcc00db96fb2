// Runs beside a page in a frame of a given width and measures what a reader would see: text that overlaps, text that is cut
// off, a page wider than its window, resources asked for. Writes what it finds as one line of JSON into the document.
'use strict';
const faults = [];
const say = (what, ...texts) => faults.push(what + ': ' + texts.map(t => '"' + t.slice(0, 60) + '"').join(' and '));

// Ink is lower than the line box by about a fifth on either side.
function ink(r) {
  const trim = Math.min(r.height, r.width) * 0.18;
  const flat = r.width >= r.height;
  return {
    left: r.left + (flat ? 0 : trim), right: r.right - (flat ? 0 : trim),
    top: r.top + (flat ? trim : 0), bottom: r.bottom - (flat ? trim : 0),
  };
}

function overlap(a, b) {
  return Math.min(a.right, b.right) - Math.max(a.left, b.left) > 0.6 &&
         Math.min(a.bottom, b.bottom) - Math.max(a.top, b.top) > 0.6;
}

function pairs(items, what) {
  items.sort((a, b) => a.box.top - b.box.top);
  for (let i = 0; i < items.length; i++) {
    for (let j = i + 1; j < items.length && items[j].box.top < items[i].box.bottom; j++) {
      if (overlap(items[i].box, items[j].box)) say(what, items[i].text, items[j].text);
    }
  }
}

function look(frame, width) {
  const doc = frame.contentDocument;
  const win = frame.contentWindow;
  if (doc.scrollingElement.scrollWidth > width + 1) say('page wider than ' + width + ' px', String(doc.scrollingElement.scrollWidth));
  for (const svg of doc.querySelectorAll('svg.drawing, svg.chart')) {
    const frame = svg.getBoundingClientRect();
    const items = [];
    for (const t of svg.querySelectorAll('text')) {
      const r = t.getBoundingClientRect();
      if (!t.textContent.trim()) continue;
      if (r.left < frame.left - 0.5 || r.right > frame.right + 0.5 || r.top < frame.top - 0.5 || r.bottom > frame.bottom + 0.5)
        say('text outside its drawing', t.textContent);
      items.push({ text: t.textContent, box: ink(r) });
    }
    pairs(items, 'text overlaps in a drawing');
    // What is drawn as a shape stays within the sheet as well.
    for (const e of svg.querySelectorAll('line, polyline, polygon, rect, ellipse')) {
      if (e.closest('defs')) continue;
      const r = e.getBoundingClientRect();
      if (r.left < frame.left - 1 || r.right > frame.right + 1 || r.top < frame.top - 1 || r.bottom > frame.bottom + 1)
        say('shape outside its drawing', e.outerHTML);
    }
  }
  const walker = doc.createTreeWalker(doc.body, win.NodeFilter.SHOW_TEXT);
  const items = [];
  for (let node = walker.nextNode(); node; node = walker.nextNode()) {
    if (!node.textContent.trim() || node.parentElement.closest('svg, style')) continue;
    const range = doc.createRange();
    range.selectNodeContents(node);
    const scroll = node.parentElement.closest('.scroll');
    const sticky = win.getComputedStyle(node.parentElement.closest('th, td') || node.parentElement).position === 'sticky';
    for (const r of range.getClientRects()) {
      if (r.width < 1) continue;
      if (!scroll && (r.left < -0.5 || r.right > width + 0.5)) say('text cut off at ' + width + ' px', node.textContent);
      if (scroll && (r.right - scroll.getBoundingClientRect().left > scroll.scrollWidth + 1)) say('text beyond its table', node.textContent);
      // A column that stays in view lies over what is scrolled.
      if (!sticky) items.push({ text: node.textContent.trim(), box: ink(r) });
    }
  }
  pairs(items, 'text overlaps at ' + width + ' px');
  const asked = win.performance.getEntriesByType('resource');
  for (const r of asked) say('asked for a resource', r.name);
}

window.addEventListener('load', () => {
  for (const frame of document.querySelectorAll('iframe')) look(frame, Number(frame.width));
  const out = document.createElement('pre');
  out.id = 'found';
  out.textContent = JSON.stringify(faults);
  document.body.append(out);
});
window.addEventListener('error', e => say('script error', e.message));
