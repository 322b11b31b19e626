// Puts what is known on the page; text is only ever text.

const LONG = 55, LONGER = 150;  // letters of a reply that is set smaller, so that all of it is seen
const by = id => document.getElementById(id);

function made(tag, text, kind) {
  const one = document.createElement(tag);
  if (text) one.textContent = text;
  if (kind) one.className = kind;
  return one;
}

function fill(id, items, none) {
  const list = by(id);
  list.textContent = '';
  items.forEach(one => list.appendChild(one));
  if (!items.length && none) list.appendChild(made('li', none));
}

export function clockTime(text) {
  const at = new Date(text), today = new Date();
  const hour = at.toLocaleTimeString([], {hour: 'numeric', minute: '2-digit'});
  if (at.toDateString() === today.toDateString()) return hour;
  return at.toLocaleDateString([], {weekday: 'short', month: 'short', day: 'numeric'}) + ' ' + hour;
}

export function reply(heard, text, level) {
  by('heard').textContent = heard ? '“' + heard + '”' : '';
  by('reply').textContent = text;
  by('reply').className = [level, text.length > LONGER ? 'longer' : text.length > LONG ? 'long' : ''].join(' ').trim();
  by('said').scrollTop = 0;
}

export function state(text, far) {
  by('state').textContent = text;
  by('state').parentNode.className = far ? 'far' : '';
}

export function question(text, yes, no) {
  by('asked').hidden = !text;
  by('asked-told').textContent = text === true ? '' : text || '';
  by('yes').textContent = yes || 'Yes';
  by('no').textContent = no || 'No';
}

export function view(name) {
  document.body.dataset.view = name;
  document.querySelectorAll('nav button').forEach(one => {
    if (one.dataset.to === name) one.setAttribute('aria-current', 'page');
    else one.removeAttribute('aria-current');
  });
}

function age(hours) {
  if (hours === null || hours === undefined) return '';
  return hours < 48 ? Math.round(hours) + ' h old' : (hours / 24).toFixed(1) + ' days old';
}

function vessel(row) {
  const one = made('li', '', row.press === 'none' ? '' : row.press);
  one.appendChild(made('b', (row.order ? row.order + '. ' : '') + row.vessel + (row.do ? ': ' + row.do : '')));
  const about = [row.level, age(row.age_h), row.sap, row.warmth, row.sugar].filter(Boolean).join(' · ');
  one.appendChild(made('span', about, 'about'));
  if (row.fill !== null && row.fill !== undefined) {
    const bar = made('div', '', 'bar'), full = made('i');
    bar.setAttribute('aria-hidden', 'true');
    full.style.width = Math.round(100 * Math.min(1, Math.max(0, row.fill))) + '%';
    bar.appendChild(full);
    one.appendChild(bar);
  }
  return one;
}

function who(note) {
  return (note.by ? note.by + ', ' : '') + clockTime(note.at);
}

function card(title, about) {
  const one = made('li');
  one.appendChild(made('b', title));
  one.appendChild(made('span', about, 'about'));
  return one;
}

function noteCard(note) {
  return card(note.reply || note.heard, who(note) + (note.heard ? ': “' + note.heard + '”' : ''));
}

function waitingCard(note, act) {
  const one = card(note.heard ? '“' + note.heard + '”' : 'A note without words', who(note) + ': ' + (note.reply || 'kept'));
  const row = made('div', '', 'three');
  [['Say it', 'say'], ['Remark', 'remark'], ['Throw away', 'throw']].forEach(pair => {
    if (pair[1] === 'remark' && !note.heard) return;
    const button = made('button', pair[0], 'small');
    button.setAttribute('aria-label', pair[0] + ': ' + (note.heard || 'a note without words'));
    button.onclick = () => act(pair[1], note);
    row.appendChild(button);
  });
  one.appendChild(row);
  return one;
}

export function day(told, act) {
  if (told.fault) {
    by('headline').textContent = told.fault;
    return;
  }
  by('headline').textContent = told.board.headline;
  fill('vessels', told.board.rows.map(vessel));
  fill('lines', told.board.lines.map(line => made('li', line)));
  const round = told.round;
  by('round-told').textContent = round ? round.seen + ' of ' + round.stops + ' trees' + (round.open ? ', under way' : '') : 'No round yet.';
  by('round-missed').textContent = round && round.missed ? 'Not yet: ' + round.missed + '.' : round ? 'None missed.' : '';
  by('round-missed').className = round && round.missed ? 'some' : '';
  fill('trees', told.trees.map(tree => card(tree.told, clockTime(tree.at))), 'No tree was noted yet.');
  fill('waiting', told.waiting.map(note => waitingCard(note, act)), 'Nothing to settle.');
  fill('latest', told.notes.map(noteCard), 'Nothing yet.');
  by('count').textContent = told.waiting.length || '';
}

export function here(notes) {
  by('here').hidden = !notes.length;
  fill('here-list', notes.map(note => {
    const told = note.text || (note.state === 'recording' ? 'being recorded' : Math.round(note.length || 0) + ' s of speech');
    return card(told, clockTime(note.began) + (note.why ? ': ' + note.why : ''));
  }));
}

export function links(id, origins, target) {
  fill(id, origins.map(origin => {
    const one = made('li'), link = made('a', 'Bring along what waits at ' + origin);
    link.href = origin + '/moved#to=' + encodeURIComponent(target);
    one.appendChild(link);
    return one;
  }));
}
