// The page: the button, what is shown, and what goes on when the house is out of reach.

import * as store from '/store.js';
import * as show from '/showing.js';
import {Outbox, ask, headStart, listen} from '/sending.js';
import {Recording} from '/recording.js';

const TAP_MS = 350, BOUNCE_MS = 250, LOOK_MS = 5000, HOW = 'hold or tap';
const by = id => document.getElementById(id);
const here = location.origin;

let secret, house = {}, recording = null, pressedAt = 0, latched = false, settles = null;
let batch = [], asked = null, lastNumber = null, lock = null, wantsAwake = false, roundOpen = false;
let spokenUrl = null, listening = false, offset = 0;

// A short sound tells what the eye need not: gloves, sun, a phone in the pocket.
let tones = null;
function tone(heights) {
  try {
    tones = tones || new (window.AudioContext || window.webkitAudioContext)();
    tones.resume();
    heights.forEach((height, place) => {
      const at = tones.currentTime + place * 0.11, note = tones.createOscillator(), loud = tones.createGain();
      note.frequency.value = height;
      loud.gain.setValueAtTime(0.2, at);
      loud.gain.linearRampToValueAtTime(0.0001, at + 0.1);
      note.connect(loud);
      loud.connect(tones.destination);
      note.start(at);
      note.stop(at + 0.1);
    });
  } catch (fault) { /* no sound: the words stand there */ }
}
const NO_MICROPHONE = {
  NotAllowedError: 'Allow this page the microphone: the sign beside the address, or the browser’s settings.',
  NotFoundError: 'There is no microphone here.',
  NotReadableError: 'Something else on the phone has the microphone.',
  other: 'The browser gives no microphone: does the phone trust the house’s certificate? Notes, Help.',
};
const GO = [523, 784], DOWN = [659], AGAIN = [784, 523], LOOK_OUT = [330, 330, 330];

function buzz(ms) { if (navigator.vibrate) navigator.vibrate(ms); }

// What is heard and said.

const outbox = new Outbox(here, news => { news_of[news.kind](news); });

const news_of = {
  async taken(news) {
    batch.push(news);
    lastNumber = news.note.number;
    if (!news.unheard) await answer(news);
    await count();
  },
  near() { lookAround(); count(); },
  far() { count(); },
  busy(news) { if (news.why) show.state(news.why, true); },
  async unpaired() {
    await count();
    unpaired('This phone is not paired any more. What waits on it is kept.');
  },
  clock(news) {
    offset = news.offset;
    asked = 'clock';
    const mine = show.clockTime(new Date().toISOString()), its = show.clockTime(news.house);
    show.reply('', 'This phone says ' + mine + ', the house ' + its + '. Which clock is right?', 'care');
    show.question('Your notes wait for the answer.', 'Phone', 'House');
    show.view('talk');
  },
  refused(news) { show.reply('', 'The house could not take a note: ' + (news.why || ''), 'care'); count(); },
};

async function answer(news) {
  const said = news.receipt.said, last = said[said.length - 1];
  const text = said.map(one => one.reply).join(' ') || news.receipt.told || 'Nothing was heard.';
  const level = said.map(one => one.level).filter(Boolean)[0];
  show.reply(said.map(one => one.heard).filter(Boolean).join('; '), text, level);
  openQuestion(last);
  const kept = !last || last.outcome === 'kept' || last.outcome === 'asked';
  tone(level === 'stop' ? LOOK_OUT : kept ? AGAIN : DOWN);
  buzz(level === 'stop' ? [200, 100, 200] : 60);
  await aloud(news.note.number);
}

function openQuestion(said) {
  asked = said && said.question === 'yes_no' ? 'yes_no' : null;
  show.question(asked ? true : '');
  by('speak-how').textContent = said && said.question ? 'hold or tap, and answer' : HOW;
}

async function summary() {
  const late = batch.filter(one => one.unheard);
  batch = [];
  if (!late.length) return;
  const said = [].concat(...late.map(one => one.receipt.said));
  const settle = said.filter(one => one.outcome === 'kept' || one.outcome === 'asked').length;
  const stop = said.filter(one => one.level === 'stop').map(one => one.reply);
  const answers = said.filter(one => one.outcome === 'answered' && one.level !== 'stop').map(one => one.reply);
  const told = late.length + (late.length === 1 ? ' note' : ' notes') + ' arrived' + (settle ? '; ' + settle + ' to settle' : '') + '. ';
  const text = told + stop.concat(answers).join(' ');
  show.reply('', text, stop.length ? 'stop' : settle ? 'care' : '');
  tone(settle || stop.length ? AGAIN : DOWN);
  ownVoice(text);
}

async function aloud(number) {
  if (!house.voice || (await store.setting('quiet'))) return;
  try {
    const sound = await ask(here, '/notes/' + number + '/voice', secret, {within: 15000});
    if (sound.status !== 200 || recording) return;
    if (spokenUrl) URL.revokeObjectURL(spokenUrl);
    spokenUrl = URL.createObjectURL(await sound.blob());
    by('aloud').src = spokenUrl;
    await by('aloud').play();
  } catch (fault) { /* the words stand there */ }
}

function sayKept(text) {
  show.reply('', text, '');
  openQuestion(null);
  tone(DOWN);
  buzz(60);
  ownVoice(text);
}

// What the page says by itself, with a voice of the phone's own, never one of the network.
async function ownVoice(text) {
  const quiet = await store.setting('quiet');
  const own = !quiet && window.speechSynthesis && speechSynthesis.getVoices().find(one => one.localService && /^en/i.test(one.lang));
  if (!own) return;
  const words = new SpeechSynthesisUtterance(text);
  words.voice = own;
  speechSynthesis.speak(words);
}

async function count() {
  const notes = await store.allNotes();
  const waiting = notes.filter(note => note.state === 'waiting').length;
  show.here(notes);
  if (!secret) return;
  if (outbox.near === false) show.state('Not in reach' + (waiting ? ' · ' + waiting + ' waiting' : ''), true);
  else show.state(waiting ? waiting + ' on the way' : 'In reach', false);
  return waiting;
}

async function sendAll() {
  await outbox.send();
  const waiting = await count();
  if (outbox.near && !waiting) await summary();
  return waiting;
}

async function addText(text, more) {
  const waiting = (await store.allNotes()).some(note => note.state !== 'refused');
  await store.addNote(Object.assign({
    number: store.newNumber(), began: Date.now(), state: 'waiting', text,
    unheard: waiting || outbox.near === false, settles: settles || undefined,
  }, more));
  await afterNote();
}

async function afterNote() {
  settle(null);
  const waiting = await count();
  if (outbox.near === false) sayKept('Kept, ' + waiting + ' waiting.');
  else show.reply('', 'One moment …', '');
  openQuestion(null);
  by('speak').classList.add('busy');
  const left = await sendAll();
  by('speak').classList.remove('busy');
  if (left && outbox.near === false && by('reply').textContent === 'One moment …') sayKept('Kept, ' + left + ' waiting.');
  askToStore();
}

// The button: held down, or tapped to begin and to end.

function pressed() {
  if (Date.now() - pressedAt < BOUNCE_MS) return;  // a wet finger is felt twice
  if (by('aloud').src) by('aloud').pause();
  pressedAt = Date.now();
  if (recording) {
    latched = false;
    letGo();
    return;
  }
  begin();
}

function released() {
  if (!recording || latched) return;
  if (Date.now() - pressedAt < TAP_MS) latched = true;
  else letGo();
}

async function begin() {
  const details = {settles: settles || undefined};
  const waiting = (await store.allNotes()).some(note => note.state !== 'refused');
  details.unheard = waiting || outbox.near === false;
  const mine = new Recording(details, (note, fault) => {
    recording = null;
    latched = false;
    speaking(false);
    if (fault) show.reply('', 'That could not be kept: the phone has no room.', 'stop');
    else if (note) afterNote();
    else show.reply('', 'Hold the button while you speak, or tap it to start and again to end.', '');
  }, outbox.near ? headStart(here, secret) : () => {});
  if (recording) return;
  recording = mine;
  speaking(true);
  try {
    await mine.begin();
    if (recording === mine) {
      tone(GO);
      buzz(30);
      by('speak-label').textContent = 'Listening';
    }
  } catch (fault) {
    recording = null;
    latched = false;
    speaking(false);
    show.reply('', (NO_MICROPHONE[fault.name] || NO_MICROPHONE.other) + ' Typing works.', 'stop');
  }
}

function letGo() {
  if (recording) recording.end();
}

function speaking(on) {
  by('speak').classList.toggle('on', on);
  by('speak-label').textContent = on ? 'Wait …' : 'Speak';
  by('speak-how').textContent = on ? 'let go or tap to end' : HOW;
}

function typing(on) {
  document.body.classList.toggle('typing', on);
  by('type-form').hidden = !on;
  by('type').setAttribute('aria-expanded', String(on));
  by('type').textContent = on ? 'Speak' : 'Type';
  if (on) by('type-text').focus();
}

// What waits to be settled.

function settle(note) {
  settles = note && note.utterance;
  by('settling').hidden = !note;
  if (note) by('settling-told').textContent = note.reply;
}

function act(what, note) {
  if (what === 'say') {
    settle(note);
    show.view('talk');
    show.reply(note.heard, 'Say the whole note anew.', 'care');
    return;
  }
  show.view('talk');
  addText(what === 'throw' ? 'throw it away' : 'keep it as a remark', {settles: note.utterance});
}

// The house.

async function lookAround() {
  try {
    const answer = await ask(here, '/me', secret, {within: 8000});
    if (answer.status === 401) {
      news_of.unpaired();
      return;
    }
    if (answer.status !== 200) return;
    house = await answer.json();
    outbox.clocksDiffer((new Date(house.clock) - Date.now()) / 1000);
    by('whose').textContent = 'Paired as ' + house.name + '.';
    outbox.reached(true);
    if (house.last && !by('heard').textContent && !recording) openQuestion(house.last);
    follow();
  } catch (fault) {
    outbox.reached(false);
  }
  count();
}

async function follow() {
  if (listening) return;
  listening = true;
  const status = await listen(here, secret, told => {
    outbox.reached(true);
    show.day(told, act);
    roundOpen = Boolean(told.round && told.round.open);
    store.set('day', told);
    keepAwake();
  });
  listening = false;
  if (status === 401) news_of.unpaired();
  else setTimeout(lookAround, 1000);
}

// The screen stays on while a round is walked, or when asked to.

async function keepAwake() {
  const wants = (wantsAwake || roundOpen) && document.visibilityState === 'visible';
  if (!navigator.wakeLock) return;
  by('awake').setAttribute('aria-pressed', String(wantsAwake || roundOpen));
  by('awake').textContent = wantsAwake || roundOpen ? 'The screen stays on' : 'Keep the screen on';
  try {
    if (wants && !lock) {
      lock = await navigator.wakeLock.request('screen');
      lock.addEventListener('release', () => { lock = null; });
    } else if (!wants && lock) {
      await lock.release();
    }
  } catch (fault) { /* the battery is low, or the browser says no */ }
}

let storeAsked = false;
function askToStore() {
  if (storeAsked || !navigator.storage || !navigator.storage.persist) return;
  storeAsked = true;
  navigator.storage.persist().catch(() => {});
}

// Pairing.

async function unpaired(told) {
  secret = undefined;
  document.body.classList.add('unpaired');
  by('pair').hidden = false;
  by('pair-told').textContent = told || '';
  show.state('Not paired', true);
  try {
    const hello = await (await ask(here, '/hello', null, {})).json();
    by('pair-earlier').hidden = !hello.earlier.length;
    show.links('pair-links', hello.earlier, here);
  } catch (fault) { /* the form says enough */ }
}

async function pair(sent) {
  try {
    const answer = await ask(here, '/pair', null, {method: 'POST', body: JSON.stringify(sent), headers: {'Content-Type': 'application/json'}});
    const told = await answer.json();
    if (answer.status !== 200) {
      by('pair-told').textContent = told.told;
      return;
    }
    await store.set('secret', told.secret);
    start();
  } catch (fault) {
    by('pair-told').textContent = 'The house is not in reach.';
  }
}

async function start() {
  secret = await store.setting('secret');
  if (!secret) {
    await unpaired();
    return;
  }
  document.body.classList.remove('unpaired');
  by('pair').hidden = true;
  const day = await store.setting('day');
  if (day) show.day(day, act);
  await lookAround();
  await sendAll();
  try {
    const hello = await (await ask(here, '/hello', null, {})).json();
    show.links('earlier', hello.earlier, here);
  } catch (fault) { /* not in reach */ }
}

async function theme() {
  const kept = await store.setting('theme');
  if (kept) document.documentElement.dataset.theme = kept;
}

function wire() {
  const speak = by('speak');
  speak.addEventListener('pointerdown', event => {
    event.preventDefault();
    speak.focus();
    if (speak.setPointerCapture) speak.setPointerCapture(event.pointerId);
    pressed();
  });
  speak.addEventListener('pointerup', released);
  speak.addEventListener('pointercancel', released);
  speak.addEventListener('contextmenu', event => event.preventDefault());
  // A headset's button, where the browser hands it on as a key, and keys of any kind.
  const keys = ['Enter', ' ', 'AudioVolumeUp', 'AudioVolumeDown', 'VolumeUp', 'VolumeDown', 'MediaPlayPause', 'HeadsetHook'];
  const isMeant = event => keys.includes(event.key) && (event.target === speak || (event.target === document.body && event.key.length > 5));
  document.addEventListener('keydown', event => {
    if (!isMeant(event)) return;
    event.preventDefault();
    if (!event.repeat) pressed();
  });
  document.addEventListener('keyup', event => {
    if (!isMeant(event)) return;
    event.preventDefault();
    released();
  });
  if (navigator.mediaSession) {
    ['play', 'pause'].forEach(one => {
      try {
        navigator.mediaSession.setActionHandler(one, () => { pressed(); latched = Boolean(recording); });
      } catch (fault) { /* not given by this browser */ }
    });
  }
  document.querySelectorAll('nav button').forEach(one => {
    one.onclick = () => { show.view(one.dataset.to); window.scrollTo(0, 0); };
  });
  const choose = yes => {
    if (asked === 'clock') {
      openQuestion(null);
      show.reply('', 'Sending …', '');
      outbox.chooseClock(yes ? 'phone' : 'house', offset).then(sendAll);
    } else {
      addText(yes ? 'yes' : 'no');
    }
  };
  by('yes').onclick = () => choose(true);
  by('no').onclick = () => choose(false);
  by('undo').onclick = () => addText('undo');
  by('again').onclick = () => { if (lastNumber) aloud(lastNumber); };
  by('settling-stop').onclick = () => settle(null);
  if (!navigator.wakeLock) {
    by('awake').disabled = true;
    by('awake').textContent = 'This browser cannot keep the screen on';
  }
  by('awake').onclick = () => { wantsAwake = !(wantsAwake || roundOpen); if (!wantsAwake) roundOpen = false; keepAwake(); };
  by('theme').onclick = async () => {
    const dark = getComputedStyle(document.documentElement).colorScheme === 'dark';
    await store.set('theme', dark ? 'light' : 'dark');
    theme();
  };
  by('voice').onclick = async () => {
    const quiet = !(await store.setting('quiet'));
    await store.set('quiet', quiet);
    by('voice').setAttribute('aria-pressed', String(!quiet));
  };
  by('type-form').onsubmit = event => {
    event.preventDefault();
    const text = by('type-text').value.trim();
    by('type-text').value = '';
    typing(false);
    if (text) addText(text);
  };
  by('type').onclick = () => typing(by('type-form').hidden);
  by('pair-form').onsubmit = event => {
    event.preventDefault();
    pair({code: by('pair-code').value.replace(/\D/g, ''), name: by('pair-name').value});
  };
  window.addEventListener('online', sendAll);
  window.addEventListener('pagehide', () => { if (recording) recording.cut(); });
  document.addEventListener('visibilitychange', () => {
    if (document.visibilityState === 'hidden') {
      if (recording) recording.cut();
    } else {
      keepAwake();
      sendAll();
    }
  });
  setInterval(() => { if (secret && !outbox.near) lookAround().then(() => outbox.near && sendAll()); }, LOOK_MS);
}

async function main() {
  wire();
  theme();
  store.setting('quiet').then(quiet => by('voice').setAttribute('aria-pressed', String(!quiet)));
  await store.recoverRecordings();
  if (navigator.serviceWorker) navigator.serviceWorker.register('/offline.js').catch(() => {});
  const ticket = new URLSearchParams(location.hash.slice(1)).get('ticket');
  if (ticket) {
    history.replaceState(null, '', '/');
    await pair({ticket});
  } else {
    await start();
  }
}

main();
