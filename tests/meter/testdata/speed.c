/* The smallest program that reads a 16-bit WAV file with libebur128 for
 * integrated loudness, range and true peak. speed.sh times it.
 *
 * Usage: speed FILE FRAMES CHANNELS RATE; the file has a header of 44 bytes. */
#include <ebur128.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>

int main(int argc, char **argv) {
  if (argc != 5) return 2;
  long left = atol(argv[2]);
  unsigned channels = (unsigned)atoi(argv[3]);
  FILE *f = fopen(argv[1], "rb");
  ebur128_state *st = ebur128_init(channels, (unsigned long)atol(argv[4]),
                                   EBUR128_MODE_I | EBUR128_MODE_LRA | EBUR128_MODE_TRUE_PEAK);
  short *buf = malloc(4096 * channels * sizeof *buf);
  double integrated, range, peak = 0, p;
  if (!f || !st || !buf || fseek(f, 44, SEEK_SET)) return 1;
  while (left > 0) {
    size_t n = fread(buf, channels * sizeof *buf, left < 4096 ? (size_t)left : 4096, f);
    if (n == 0) break;
    ebur128_add_frames_short(st, buf, n);
    left -= (long)n;
  }
  ebur128_loudness_global(st, &integrated);
  ebur128_loudness_range(st, &range);
  for (unsigned c = 0; c < channels; c++)
    if (!ebur128_true_peak(st, c, &p) && p > peak) peak = p;
  printf("I %.2f LUFS  LRA %.2f LU  TP %.2f dBTP\n", integrated, range, 20 * log10(peak));
  ebur128_destroy(&st);
  return 0;
}
