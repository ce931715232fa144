// An ALSA device without a sound card that takes samples as a card does: one
// each 1/rate of a second, waking the writer once a period. What it "plays" goes
// to a file, and to another one when it started: "START FRAME NANOSECONDS" (of
// the system's clock), so that a test knows when each frame was at the speaker.
//
//	pcm_type.clocked { lib "/…/clocked.so" }
//	pcm.!default { type clocked file "/…/card" }
//
// writes /…/card.raw and /…/card.log. An underrun is a line "XRUN FRAME".
#define _GNU_SOURCE
#include <alsa/asoundlib.h>
#include <alsa/pcm_external.h>
#include <stdio.h>
#include <stdint.h>
#include <sys/timerfd.h>
#include <time.h>
#include <unistd.h>

typedef struct {
  snd_pcm_ioplug_t io;
  FILE *raw, *log;
  uint64_t frames, base; // written in all, and before the last prepare
  int64_t began;         // ns, 0 while it stands
} clocked;

static int64_t now(void) {
  struct timespec t;
  clock_gettime(CLOCK_REALTIME, &t);
  return (int64_t)t.tv_sec * 1000000000 + t.tv_nsec;
}

static void tick(clocked *c, int64_t ns) {
  struct itimerspec t = {0};
  t.it_value.tv_sec = t.it_interval.tv_sec = ns / 1000000000;
  t.it_value.tv_nsec = t.it_interval.tv_nsec = ns % 1000000000;
  timerfd_settime(c->io.poll_fd, 0, &t, NULL);
}

static int start(snd_pcm_ioplug_t *io) {
  clocked *c = io->private_data;
  c->began = now();
  fprintf(c->log, "START %llu %lld\n", (unsigned long long)c->base, (long long)c->began);
  fflush(c->log);
  tick(c, (int64_t)io->period_size * 1000000000 / io->rate);
  return 0;
}

static int stop(snd_pcm_ioplug_t *io) {
  clocked *c = io->private_data;
  c->began = 0;
  return 0;
}

static snd_pcm_sframes_t pointer(snd_pcm_ioplug_t *io) {
  clocked *c = io->private_data;
  if (!c->began) return 0;
  uint64_t played = (uint64_t)((double)(now() - c->began) * io->rate / 1e9);
  if (played > c->frames - c->base) {
    fprintf(c->log, "XRUN %llu\n", (unsigned long long)c->frames);
    fflush(c->log);
    return -EPIPE;
  }
  return played % io->buffer_size;
}

static snd_pcm_sframes_t transfer(snd_pcm_ioplug_t *io, const snd_pcm_channel_area_t *areas, snd_pcm_uframes_t offset,
                                  snd_pcm_uframes_t size) {
  clocked *c = io->private_data;
  fwrite((char *)areas->addr + (areas->first + areas->step * offset) / 8, 4, size, c->raw);
  c->frames += size;
  return size;
}

static int prepare(snd_pcm_ioplug_t *io) {
  clocked *c = io->private_data;
  c->base = c->frames;
  c->began = 0;
  tick(c, 1000000); // an empty device can be written to
  return 0;
}

static int revents(snd_pcm_ioplug_t *io, struct pollfd *p, unsigned int n, unsigned short *out) {
  uint64_t times;
  (void)n;
  if (read(io->poll_fd, &times, sizeof times) < 0) times = 0;
  *out = p[0].revents & POLLIN ? POLLOUT : 0;
  return 0;
}

static int closed(snd_pcm_ioplug_t *io) {
  clocked *c = io->private_data;
  fclose(c->raw);
  fclose(c->log);
  close(io->poll_fd);
  free(c);
  return 0;
}

static const snd_pcm_ioplug_callback_t callbacks = {
    .start = start, .stop = stop, .pointer = pointer, .transfer = transfer, .prepare = prepare, .poll_revents = revents, .close = closed,
};

SND_PCM_PLUGIN_DEFINE_FUNC(clocked) {
  const char *file = "card";
  snd_config_iterator_t i, next;
  (void)root;
  snd_config_for_each(i, next, conf) {
    snd_config_t *n = snd_config_iterator_entry(i);
    const char *id;
    if (snd_config_get_id(n, &id) >= 0 && strcmp(id, "file") == 0) snd_config_get_string(n, &file);
  }
  clocked *c = calloc(1, sizeof *c);
  if (!c) return -ENOMEM;
  char path[4096];
  snprintf(path, sizeof path, "%s.raw", file);
  c->raw = fopen(path, "w");
  snprintf(path, sizeof path, "%s.log", file);
  c->log = fopen(path, "w");
  if (!c->raw || !c->log) return -EIO;
  c->io.version = SND_PCM_IOPLUG_VERSION;
  c->io.name = "a clocked device without a card";
  c->io.poll_fd = timerfd_create(CLOCK_MONOTONIC, TFD_NONBLOCK);
  c->io.poll_events = POLLIN;
  c->io.callback = &callbacks;
  c->io.private_data = c;
  int err = snd_pcm_ioplug_create(&c->io, name, stream, mode);
  if (err < 0) return err;
  static const unsigned access[] = {SND_PCM_ACCESS_RW_INTERLEAVED}, format[] = {SND_PCM_FORMAT_S16_LE};
  snd_pcm_ioplug_set_param_list(&c->io, SND_PCM_IOPLUG_HW_ACCESS, 1, access);
  snd_pcm_ioplug_set_param_list(&c->io, SND_PCM_IOPLUG_HW_FORMAT, 1, format);
  snd_pcm_ioplug_set_param_minmax(&c->io, SND_PCM_IOPLUG_HW_CHANNELS, 2, 2);
  snd_pcm_ioplug_set_param_minmax(&c->io, SND_PCM_IOPLUG_HW_RATE, 8000, 192000);
  snd_pcm_ioplug_set_param_minmax(&c->io, SND_PCM_IOPLUG_HW_PERIOD_BYTES, 256, 1 << 18);
  snd_pcm_ioplug_set_param_minmax(&c->io, SND_PCM_IOPLUG_HW_BUFFER_BYTES, 512, 1 << 20);
  *pcmp = c->io.pcm;
  return 0;
}
SND_PCM_PLUGIN_SYMBOL(clocked);
