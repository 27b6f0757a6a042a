// Milliseconds that assimp takes to import a mesh file, once a line: bedwright_assimp_read FILE TIMES.
#include <assimp/scene.h>

#include <assimp/Importer.hpp>
#include <chrono>
#include <cstdio>
#include <cstdlib>

int main(int argc, char** argv) {
  if (argc != 3) return 2;
  for (int i = 0; i < std::atoi(argv[2]); ++i) {
    const auto began = std::chrono::steady_clock::now();
    Assimp::Importer importer;
    const aiScene* scene = importer.ReadFile(argv[1], 0);
    if (!scene || !scene->mNumMeshes) return 1;
    std::printf("%.3f\n", std::chrono::duration<double, std::milli>(std::chrono::steady_clock::now() - began).count());
  }
  return 0;
}
