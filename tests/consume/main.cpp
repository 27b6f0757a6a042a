// A program outside the tree: a turned cube keeps its volume.
#include <base/mesh.h>
#include <base/sha256.h>

#include <cmath>
#include <cstdio>

int main() {
  bedwright::Mesh m{{{0, 0, 0}, {6, 0, 0}, {0, 6, 0}, {0, 0, 6}}, {{0, 2, 1}, {0, 1, 3}, {0, 3, 2}, {1, 2, 3}}};
  const double turned = bedwright::volume(bedwright::transformed(m, bedwright::quarter_turn(0, 1)));
  // FIPS 180-4: the digest of the empty message begins with e3b0c442.
  const bool ok = std::fabs(turned - 36) < 1e-12 && bedwright::sha256("").substr(0, 8) == "e3b0c442";
  std::printf("%s\n", ok ? "ok" : "wrong");
  return ok ? 0 : 1;
}
