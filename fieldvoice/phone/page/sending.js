// Sends what waits to the house: one at a time, in order, again and again until there is a receipt.

import * as store from '/store.js';

const ANSWER_MS = 70000, LARGEST = 10000000, AGAIN_MS = [2000, 4000, 8000, 15000], LATE_MS = 60000, SAME_CLOCK_S = 60;

export function localTime(ms) {
  const at = new Date(ms), offset = -at.getTimezoneOffset();
  const two = number => String(Math.floor(Math.abs(number))).padStart(2, '0');
  const shifted = new Date(ms + offset * 60000).toISOString().slice(0, 23);
  return shifted + (offset < 0 ? '-' : '+') + two(offset / 60) + ':' + two(offset % 60);
}

// Asks the house at an origin for a path; rejects where it is not in reach.
export async function ask(origin, path, secret, options) {
  const chosen = Object.assign({}, options), headers = Object.assign({}, chosen.headers);
  if (secret) headers.Authorization = 'Bearer ' + secret;
  const stop = new AbortController();
  const timer = setTimeout(() => stop.abort(), chosen.within || 10000);
  try {
    return await fetch(origin + path, Object.assign(chosen, {headers, signal: stop.signal, cache: 'no-store', credentials: 'omit'}));
  } finally {
    clearTimeout(timer);
  }
}

// Lets the house hear what is over while the rest is spoken. Nothing hangs on it: the note is sent
// whole afterwards, whatever came of this.
export function headStart(origin, secret) {
  let from = 0, before = Promise.resolve(true);
  return (note, bytes) => {
    const options = {method: 'PUT', headers: {'Piece-From': String(from)}, body: bytes};
    from += bytes.byteLength;
    before = before
      .then(async goesOn => goesOn && (await ask(origin, '/notes/' + note.number + '/ahead', secret, options)).status === 204)
      .catch(() => false);
  };
}

async function read(answer) {
  try { return await answer.json(); } catch (fault) { return {}; }
}

export class Outbox {
  // told(news) hears of every change: {kind: 'taken' | 'far' | 'near' | 'unpaired' | 'clock' | 'refused', …}.
  constructor(origin, told) {
    this.origin = origin;
    this.told = told;
    this.clock = null;
    this.near = null;
    this.tries = 0;
    this.timer = null;
    this.running = null;
    this.again = false;
  }

  // Sends all that waits; resolves when there is no more to do now.
  send() {
    if (this.running) {
      this.again = true;
      return this.running;
    }
    clearTimeout(this.timer);
    this.again = false;
    const drain = () => this.drain();
    // Two windows of one page would send the same notes side by side.
    const alone = navigator.locks ? navigator.locks.request('send', drain) : drain();
    this.running = alone.catch(() => {}).then(() => {
      this.running = null;
      return this.again ? this.send() : undefined;
    });
    return this.running;
  }

  async drain() {
    for (;;) {
      const waiting = (await store.allNotes()).filter(note => note.state !== 'refused');
      if (!waiting.length || waiting[0].state !== 'waiting') return;
      if (!await this.one(waiting[0])) return;
    }
  }

  later() {
    clearTimeout(this.timer);
    this.timer = setTimeout(() => this.send(), AGAIN_MS[Math.min(this.tries, AGAIN_MS.length - 1)]);
    this.tries += 1;
  }

  // Sends one note; returns whether the next may follow.
  async one(note) {
    const secret = await store.setting('secret');
    if (!secret) return false;
    const body = note.text === undefined ? await store.soundOf(note.n) : note.text;
    if (body.size > LARGEST) return this.refuse(note, 'It is too large.');
    const headers = {
      'Content-Type': note.text === undefined ? note.type || 'application/octet-stream' : 'text/plain; charset=utf-8',
      'Note-At': localTime(note.began), 'Phone-Clock': localTime(Date.now()),
    };
    if (note.length !== undefined) headers['Note-Length'] = String(note.length);
    if (note.cut) headers['Note-Cut'] = '1';
    if (note.settles) headers['Note-Settles'] = note.settles;
    if (note.unheard || Date.now() - note.began - 1000 * (note.length || 0) > LATE_MS) headers['Note-Unheard'] = '1';
    if (this.clock) headers['Clock-Choice'] = this.clock.choice;
    let answer;
    try {
      answer = await ask(this.origin, '/notes/' + note.number, secret, {method: 'PUT', headers, body, within: ANSWER_MS});
    } catch (fault) {
      // It was told that it is kept, and goes on: its reply comes when something else is in hand.
      await store.putNote(Object.assign(note, {unheard: true}));
      this.reached(false);
      this.later();
      return false;
    }
    this.reached(true);
    return this.answered(note, answer, await read(answer), headers['Note-Unheard'] === '1');
  }

  async answered(note, answer, told, unheard) {
    if (answer.status === 200 && Array.isArray(told.said)) {
      this.tries = 0;
      await store.taken(note.n, {number: note.number, at: note.began, said: told.said, told: told.told});
      this.told({kind: 'taken', note, receipt: told, unheard});
      return true;
    }
    if (answer.status === 401) {
      this.told({kind: 'unpaired'});
    } else if (answer.status === 409 && told.ask === 'clock') {
      this.clock = null;
      this.told({kind: 'clock', offset: told.offset_s, house: told.house});
    } else if (answer.status === 400 || answer.status === 413) {
      return this.refuse(note, told.told);
    } else {
      this.told({kind: 'busy', why: told.told});
      this.later();
    }
    return false;
  }

  // It would never be taken: it stays here, to be seen, and holds up no other.
  async refuse(note, why) {
    await store.putNote(Object.assign({}, note, {state: 'refused', why}));
    this.told({kind: 'refused', note, why});
    return true;
  }

  // The clock of the phone or of the house is right: notes go by it from now on.
  chooseClock(choice, offset) {
    this.clock = {choice, offset};
    return this.send();
  }

  // Forgets the choice when the clocks differ by something else than before.
  clocksDiffer(offset) {
    if (this.clock && Math.abs(offset - this.clock.offset) > SAME_CLOCK_S) this.clock = null;
  }

  reached(near) {
    if (near !== this.near) {
      this.near = near;
      if (near) this.tries = 0;
      this.told({kind: near ? 'near' : 'far'});
    }
  }
}

// Hears the day from the house until it is out of reach; reads server-sent events by hand, for an
// EventSource cannot carry the secret.
export async function listen(origin, secret, heard) {
  const stop = new AbortController();
  let quiet = setTimeout(() => stop.abort(), 20000);
  try {
    const answer = await fetch(origin + '/news', {
      headers: {Authorization: 'Bearer ' + secret}, cache: 'no-store', credentials: 'omit', signal: stop.signal,
    });
    if (answer.status !== 200) return answer.status;
    const reader = answer.body.getReader(), letters = new TextDecoder();
    let text = '';
    for (;;) {
      const part = await reader.read();
      clearTimeout(quiet);
      quiet = setTimeout(() => stop.abort(), 40000);
      if (part.done) return 0;
      text += letters.decode(part.value, {stream: true});
      const events = text.split('\n\n');
      text = events.pop();
      for (const event of events) {
        const data = event.split('\n').filter(line => line.startsWith('data: ')).map(line => line.slice(6)).join('\n');
        if (data) heard(JSON.parse(data));
      }
    }
  } catch (fault) {
    return 0;
  } finally {
    clearTimeout(quiet);
  }
}
