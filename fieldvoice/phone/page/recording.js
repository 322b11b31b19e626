// One recording at a time, written down a second at a time.

import * as store from '/store.js';

const SLICE_MS = 1000, LONGEST_MS = 300000;

// Recorders say what they can do, and some are wrong: Safari's WebM plays nowhere else.
function kind() {
  const isSafari = /safari/i.test(navigator.userAgent) && !/chrome|chromium|crios|fxios|android/i.test(navigator.userAgent);
  const wanted = ['audio/webm;codecs=opus', 'audio/mp4', 'audio/ogg;codecs=opus', 'audio/webm'];
  if (isSafari) wanted.unshift('audio/mp4');
  return wanted.find(one => MediaRecorder.isTypeSupported(one)) || '';
}

export class Recording {
  // ended(note) is called once, with the note that waits now, or null where nothing was recorded;
  // ahead(note, bytes) with each piece that is stored while the person goes on speaking.
  constructor(details, ended, ahead) {
    this.details = details;
    this.ended = ended;
    this.ahead = ahead;
    this.isOver = false;
    this.wasCut = false;
    this.stored = Promise.resolve();
  }

  // Begins; rejects where there is no microphone or it may not be used.
  async begin() {
    this.stream = await navigator.mediaDevices.getUserMedia({
      // Wishes: what cleans speech for people to hear takes away what the ear here needs.
      audio: {echoCancellation: false, noiseSuppression: false, autoGainControl: false, channelCount: 1},
    });
    if (this.isOver) {  // let go before the microphone was there
      this.release();
      this.ended(null);
      return;
    }
    const type = kind();
    this.recorder = new MediaRecorder(this.stream, type ? {mimeType: type, audioBitsPerSecond: 48000} : {});
    this.began = Date.now();
    this.note = await store.addNote(Object.assign({
      number: store.newNumber(), began: this.began, state: 'recording', type: this.recorder.mimeType || type,
    }, this.details));
    this.recorder.ondataavailable = event => { if (event.data && event.data.size) this.keep(event.data); };
    this.recorder.onstop = () => this.finish();
    this.recorder.onerror = () => this.cut();
    // A call, a lock or another page takes the microphone away.
    this.stream.getTracks().forEach(track => { track.onended = () => this.cut(); });
    this.recorder.start(SLICE_MS);
    this.timer = setTimeout(() => this.end(), LONGEST_MS);
    if (this.isOver) this.stop();
  }

  keep(data) {
    this.stored = this.stored.then(async () => {
      const bytes = await new Response(data).arrayBuffer();
      await store.addChunk(this.note.n, bytes);
      if (!this.isOver) this.ahead(this.note, bytes);
    });
  }

  end() {
    if (this.isOver) return;
    this.isOver = true;
    this.stop();
  }

  cut() {
    this.wasCut = this.wasCut || !this.isOver;
    this.end();
  }

  stop() {
    clearTimeout(this.timer);
    if (this.recorder && this.recorder.state !== 'inactive') this.recorder.stop();
    else if (this.recorder) this.finish();
  }

  release() {
    if (this.stream) this.stream.getTracks().forEach(track => { track.onended = null; track.stop(); });
  }

  async finish() {
    if (this.finished) return;
    this.finished = true;
    this.isOver = true;
    const length = (Date.now() - this.began) / 1000;
    this.release();
    try {
      await this.stored;
      const sound = await store.soundOf(this.note.n);
      if (!sound.size) {
        await store.drop(this.note.n);
        this.ended(null);
        return;
      }
      const note = Object.assign({}, this.note, {state: 'waiting', length: Math.min(length, 330), cut: this.wasCut});
      await store.putNote(note);
      this.ended(note);
    } catch (fault) {
      this.ended(null, fault);
    }
  }
}
