// Reads a mesh file with assimp, welds equal corners, and prints one JSON verdict.
#include <array>
#include <assimp/Importer.hpp>
#include <assimp/config.h>
#include <assimp/postprocess.h>
#include <assimp/scene.h>
#include <cstdio>
#include <map>
#include <string>
#include <utility>

int main(int argc, char** argv) {
  if (argc != 2) return 2;
  Assimp::Importer importer;
  importer.SetPropertyInteger(AI_CONFIG_PP_RVC_FLAGS, aiComponent_NORMALS | aiComponent_COLORS);
  const aiScene* scene =
      importer.ReadFile(argv[1], aiProcess_RemoveComponent | aiProcess_JoinIdenticalVertices | aiProcess_ValidateDataStructure);
  if (!scene || scene->mNumMeshes != 1) {
    std::printf("{\"closed\": false, \"volume_mm3\": 0, \"box_mm\": [0, 0, 0], \"triangles\": 0, "
                "\"objections\": [\"not readable as one mesh\"]}\n");
    return 0;
  }
  const aiMesh& mesh = *scene->mMeshes[0];
  std::map<std::pair<unsigned, unsigned>, int> edges;
  std::array<double, 3> low{1e9, 1e9, 1e9}, high{-1e9, -1e9, -1e9};
  for (unsigned v = 0; v < mesh.mNumVertices; ++v)
    for (unsigned k = 0; k < 3; ++k) {
      low[k] = std::min(low[k], static_cast<double>(mesh.mVertices[v][k]));
      high[k] = std::max(high[k], static_cast<double>(mesh.mVertices[v][k]));
    }
  double six = 0;
  unsigned not_triangles = 0;
  for (unsigned f = 0; f < mesh.mNumFaces; ++f) {
    const aiFace& face = mesh.mFaces[f];
    if (face.mNumIndices != 3) {
      ++not_triangles;
      continue;
    }
    std::array<std::array<double, 3>, 3> p{};
    for (unsigned i = 0; i < 3; ++i) {
      for (unsigned k = 0; k < 3; ++k)
        p[i][k] = mesh.mVertices[face.mIndices[i]][k] - (low[k] + high[k]) / 2;
      ++edges[{face.mIndices[i], face.mIndices[(i + 1) % 3]}];
    }
    for (unsigned k = 0; k < 3; ++k) {
      const unsigned l = (k + 1) % 3, m = (k + 2) % 3;
      six += p[0][k] * (p[1][l] * p[2][m] - p[1][m] * p[2][l]);
    }
  }
  int open = 0;
  for (const auto& [edge, times] : edges) {
    const auto other = edges.find({edge.second, edge.first});
    if (times != 1 || other == edges.end() || other->second != 1) ++open;
  }
  std::string objections;
  if (open) objections += "\"" + std::to_string(open) + " edges do not have exactly two facets, one each way\"";
  if (not_triangles) objections += std::string(open ? ", " : "") + "\"faces that are no triangles\"";
  std::printf("{\"closed\": %s, \"volume_mm3\": %.17g, \"box_mm\": [%.17g, %.17g, %.17g], \"triangles\": %u, "
              "\"objections\": [%s]}\n",
              open ? "false" : "true", six / 6, high[0] - low[0], high[1] - low[1], high[2] - low[2], mesh.mNumFaces,
              objections.c_str());
}
