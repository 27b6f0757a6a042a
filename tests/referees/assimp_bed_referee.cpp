// Reads a 3MF package with assimp and prints its placed meshes as JSON.
#include <assimp/scene.h>

#include <assimp/Importer.hpp>

#include "bed_items.h"

namespace {

bool first = true;

void walk(const aiScene& scene, const aiNode& node, const aiMatrix4x4& above) {
  const aiMatrix4x4 place = above * node.mTransformation;
  for (unsigned i = 0; i < node.mNumMeshes; ++i) {
    const aiMesh& mesh = *scene.mMeshes[node.mMeshes[i]];
    BedItem item;
    for (unsigned v = 0; v < mesh.mNumVertices; ++v) {
      const aiVector3D p = place * mesh.mVertices[v];
      item.points.push_back({p.x, p.y, p.z});
    }
    for (unsigned f = 0; f < mesh.mNumFaces; ++f)
      if (mesh.mFaces[f].mNumIndices == 3)
        item.facets.push_back({mesh.mFaces[f].mIndices[0], mesh.mFaces[f].mIndices[1], mesh.mFaces[f].mIndices[2]});
    print_item(item, first);
    first = false;
  }
  for (unsigned i = 0; i < node.mNumChildren; ++i) walk(scene, *node.mChildren[i], place);
}

}  // namespace

int main(int argc, char** argv) {
  if (argc != 2) return 2;
  Assimp::Importer importer;
  const aiScene* scene = importer.ReadFile(argv[1], 0);
  if (!scene || !scene->mRootNode) {
    std::printf("{\"error\": \"cannot read\"}\n");
    return 0;
  }
  std::printf("{\"items\": [\n");
  walk(*scene, *scene->mRootNode, aiMatrix4x4());
  std::printf("]}\n");
}
