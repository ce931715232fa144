/* Measures a raw file with libebur128 and prints what it finds, one number a
 * line: integrated, range as the library has it, range from short-term values
 * every 100 ms, maximum momentary, maximum short-term, true peak, sample peak.
 *
 * Usage: reference FILE RATE CHANNELS, where FILE holds interleaved native
 * doubles. */
#include <ebur128.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>

static int ascending(const void *a, const void *b) {
  double x = *(const double *)a, y = *(const double *)b;
  return (x > y) - (x < y);
}

/* Tech 3342: gates at -70 LUFS and 20 LU below the mean, 10th to 95th
 * percentile. */
static double range_of(double *lufs, size_t n) {
  size_t kept = 0, i, top;
  double power = 0, gate;
  for (i = 0; i < n; i++)
    if (lufs[i] > -70) {
      lufs[kept++] = lufs[i];
      power += pow(10, lufs[i] / 10);
    }
  if (kept == 0) return 0;
  gate = 10 * log10(power / kept) - 20;
  for (i = 0, top = 0; i < kept; i++)
    if (lufs[i] > gate) lufs[top++] = lufs[i];
  if (top == 0) return 0;
  qsort(lufs, top, sizeof *lufs, ascending);
  return lufs[(size_t)((top - 1) * 0.95 + 0.5)] - lufs[(size_t)((top - 1) * 0.10 + 0.5)];
}

int main(int argc, char **argv) {
  if (argc != 4) {
    fprintf(stderr, "usage: reference FILE RATE CHANNELS\n");
    return 2;
  }
  unsigned long rate = strtoul(argv[2], NULL, 10);
  unsigned channels = (unsigned)strtoul(argv[3], NULL, 10);
  FILE *f = fopen(argv[1], "rb");
  if (!f) {
    perror(argv[1]);
    return 2;
  }
  ebur128_state *st = ebur128_init(channels, rate,
                                   EBUR128_MODE_M | EBUR128_MODE_S | EBUR128_MODE_I | EBUR128_MODE_LRA |
                                       EBUR128_MODE_SAMPLE_PEAK | EBUR128_MODE_TRUE_PEAK);
  size_t hop = rate / 100, frames, n = 0, shorts = 0, room = 1 << 16;
  double *buf = malloc(hop * channels * sizeof *buf);
  double *lufs = malloc(room * sizeof *lufs);
  double v, lra, integrated, max_m = -HUGE_VAL, max_s = -HUGE_VAL, tp = 0, sp = 0;
  if (!st || !buf || !lufs) return 1;
  while ((frames = fread(buf, channels * sizeof *buf, hop, f)) > 0) {
    if (ebur128_add_frames_double(st, buf, frames) != EBUR128_SUCCESS) return 1;
    if (frames < hop) break; /* readings come at whole hops */
    n++;
    if (ebur128_loudness_momentary(st, &v) == EBUR128_SUCCESS && v > max_m) max_m = v;
    if (ebur128_loudness_shortterm(st, &v) != EBUR128_SUCCESS) return 1;
    if (v > max_s) max_s = v;
    if (n >= 300 && n % 10 == 0 && shorts < room) lufs[shorts++] = v;
  }
  if (ebur128_loudness_global(st, &integrated) != EBUR128_SUCCESS) return 1;
  if (ebur128_loudness_range(st, &lra) != EBUR128_SUCCESS) return 1;
  for (unsigned c = 0; c < channels; c++) {
    if (ebur128_true_peak(st, c, &v) == EBUR128_SUCCESS && v > tp) tp = v;
    if (ebur128_sample_peak(st, c, &v) == EBUR128_SUCCESS && v > sp) sp = v;
  }
  printf("%.9f\n%.9f\n%.9f\n%.9f\n%.9f\n%.9f\n%.9f\n", integrated, lra, range_of(lufs, shorts), max_m, max_s,
         20 * log10(tp), 20 * log10(sp));
  ebur128_destroy(&st);
  return 0;
}
