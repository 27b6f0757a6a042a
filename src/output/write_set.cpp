#include "output/write_set.h"

#include <fcntl.h>
#include <stdio.h>
#include <sys/file.h>
#include <sys/stat.h>
#include <time.h>
#include <unistd.h>

#include <algorithm>
#include <cerrno>
#include <filesystem>
#include <nlohmann/json.hpp>
#include <set>
#include <system_error>
#include <utility>
#include <vector>

#include "base/error.h"

namespace bedwright {
namespace {

namespace fs = std::filesystem;

constexpr std::size_t largest_report_bytes = std::size_t(256) << 20;
// Another run holds the lock only while it writes: ten seconds is far longer than any set takes.
constexpr int lock_tries = 500;
constexpr long lock_pause_ns = 20'000'000;

std::string reason(int code) {
  return std::generic_category().message(code);
}

[[noreturn]] void fail(const fs::path& path, const std::string& what) {
  throw FileError(path.string(), what);
}
[[noreturn]] void fail_errno(const fs::path& path, const std::string& what) {
  fail(path, what + ": " + reason(errno));
}

/// A file descriptor that closes itself.
class Descriptor {
 public:
  explicit Descriptor(int fd) : fd_(fd) {}
  Descriptor(const Descriptor&) = delete;
  Descriptor& operator=(const Descriptor&) = delete;
  ~Descriptor() {
    if (fd_ >= 0) ::close(fd_);
  }
  int get() const { return fd_; }
  /// Some file systems report a failed write only when the file is closed.
  bool close() { return ::close(std::exchange(fd_, -1)) == 0; }

 private:
  int fd_;
};

/// Holds the folder that contains the set, so that two runs do not exchange one set at once. The lock is on the
/// folder itself: no lock file is left behind, and a killed run lets go of it.
class FolderLock {
 public:
  explicit FolderLock(const fs::path& parent) : fd_(::open(parent.c_str(), O_RDONLY | O_DIRECTORY | O_CLOEXEC)) {
    if (fd_.get() < 0) fail_errno(parent, "cannot open this folder");
    for (int i = 0; i < lock_tries; ++i) {
      if (::flock(fd_.get(), LOCK_EX | LOCK_NB) == 0) return;
      // A file system without locks: the exchange itself still is one step.
      if (errno != EWOULDBLOCK && errno != EINTR) return;
      const timespec pause{0, lock_pause_ns};
      ::nanosleep(&pause, nullptr);
    }
    fail(parent, "another run has been writing here for ten seconds; wait for it to end, or end it");
  }
  void flush() const { ::fsync(fd_.get()); }

 private:
  Descriptor fd_;
};

void write_new(const fs::path& path, const std::string& bytes) {
  Descriptor fd(::open(path.c_str(), O_WRONLY | O_CREAT | O_EXCL | O_NOFOLLOW | O_CLOEXEC, 0666));
  if (fd.get() < 0) fail_errno(path, "cannot create this file");
  std::size_t done = 0;
  while (done < bytes.size()) {
    const ssize_t n = ::write(fd.get(), bytes.data() + done, bytes.size() - done);
    if (n < 0 && errno == EINTR) continue;
    if (n < 0) fail_errno(path, "cannot write");
    done += static_cast<std::size_t>(n);
  }
  if (::fsync(fd.get()) != 0) fail_errno(path, "cannot flush to the disk");
  if (!fd.close()) fail_errno(path, "cannot close");
}

void flush_folder(const fs::path& path) {
  Descriptor fd(::open(path.c_str(), O_RDONLY | O_DIRECTORY | O_CLOEXEC));
  if (fd.get() >= 0) ::fsync(fd.get());
}

void remove_tree(const fs::path& path) {
  std::error_code ignored;
  // Does not follow symbolic links: a link is removed, what it points to stays.
  fs::remove_all(path, ignored);
}

/// What a folder's own report names.
struct Named {
  std::string report;           ///< its bytes
  bool all = false;             ///< that it names; otherwise those of its list of files
  std::set<std::string> names;  ///< relative paths; none where the report is not ours
};

/// Keeps of a report what names files, and makes nothing of the rest.
class NamesReader : public nlohmann::json_sax<nlohmann::json> {
 public:
  /// `all`: to the end; otherwise no further than the format and one list of files.
  explicit NamesReader(bool all) : all_(all) {}
  std::string format;
  std::set<std::string> names{"report.json"};
  bool enough = false;

  bool string(string_t& value) override {
    if (in_.size() == 1 && top_ == "format") format = value;
    if (in_ == Within{Kind::object, Kind::array} && top_ == "files") names.insert(value);
    if (in_ == Within{Kind::object, Kind::array, Kind::object} && top_ == "parts" && key_ == "file") names.insert(value);
    return go_on();
  }
  bool key(string_t& value) override {
    if (in_.size() == 1) top_ = value;
    if (in_.size() == 3) key_ = value;
    return true;
  }
  bool start_object(std::size_t) override { return begin(Kind::object); }
  bool start_array(std::size_t) override { return begin(Kind::array); }
  bool end_object() override { return end(); }
  bool end_array() override {
    listed_ = listed_ || (in_ == Within{Kind::object, Kind::array} && top_ == "files" && names.size() > 1);
    return end() && go_on();
  }
  bool null() override { return true; }
  bool boolean(bool) override { return true; }
  bool number_integer(number_integer_t) override { return true; }
  bool number_unsigned(number_unsigned_t) override { return true; }
  bool number_float(number_float_t, const string_t&) override { return true; }
  bool binary(binary_t&) override { return true; }
  bool parse_error(std::size_t, const std::string&, const nlohmann::detail::exception&) override { return false; }

 private:
  enum class Kind { object, array };
  using Within = std::vector<Kind>;
  bool begin(Kind kind) {
    in_.push_back(kind);
    return true;
  }
  bool end() {
    in_.pop_back();
    return true;
  }
  bool go_on() {
    enough = !all_ && listed_ && !format.empty();
    return !enough;
  }
  bool all_, listed_ = false;
  Within in_;  ///< what the value at hand lies in, outermost first
  std::string top_, key_;
};

void take_names(Named& named, bool all) {
  NamesReader reader(all);
  const bool whole = nlohmann::json::sax_parse(named.report, &reader);
  named.all = !reader.enough;
  if ((whole || reader.enough) && reader.format == "bedwright/report/1")
    named.names = std::move(reader.names);
  else
    named.names.clear();
}

/// Reads the folder's report, unless it is byte for byte the one that `named` was read from.
void read_named(const fs::path& folder, Named& named) {
  const fs::path path = folder / "report.json";
  std::string bytes;
  if (fs::symlink_status(path).type() == fs::file_type::regular) bytes = read_file(path.string(), largest_report_bytes);
  if (!bytes.empty() && bytes == named.report) return;
  named.report = std::move(bytes);
  take_names(named, false);
}

bool leads_to_one_of(const std::string& folder, const std::set<std::string>& names) {
  const auto next = names.lower_bound(folder + "/");
  return next != names.end() && next->compare(0, folder.size() + 1, folder + "/") == 0;
}

/// What in the folder is none of the names, sorted.
std::vector<std::string> unnamed_entries(const fs::path& folder, const std::set<std::string>& names) {
  std::vector<std::string> foreign;
  for (auto it = fs::recursive_directory_iterator(folder); it != fs::recursive_directory_iterator(); ++it) {
    const std::string name = it->path().lexically_relative(folder).generic_string();
    const fs::file_type type = it->symlink_status().type();
    const bool known = type == fs::file_type::regular     ? names.count(name) > 0
                       : type == fs::file_type::directory ? leads_to_one_of(name, names)
                                                          : false;
    if (known) continue;
    foreign.push_back(name);
    if (type == fs::file_type::directory) it.disable_recursion_pending();
  }
  std::sort(foreign.begin(), foreign.end());
  return foreign;
}

/// What in the folder its own report does not name. All of a report is read only where its list of files is not enough.
std::vector<std::string> foreign_entries(const fs::path& folder, Named& named) {
  read_named(folder, named);
  std::vector<std::string> foreign = unnamed_entries(folder, named.names);
  if (foreign.empty() || named.all) return foreign;
  take_names(named, true);
  return unnamed_entries(folder, named.names);
}

void refuse_foreign(const fs::path& folder, const fs::path& shown, Named& named) {
  std::vector<std::string> foreign;
  try {
    foreign = foreign_entries(folder, named);
  } catch (const fs::filesystem_error& e) {
    fail(shown, "cannot look into this folder: " + e.code().message());
  }
  if (foreign.empty()) return;
  std::string list;
  for (std::size_t i = 0; i < foreign.size() && i < 3; ++i) list += (i ? ", " : "") + foreign[i];
  if (foreign.size() > 3) list += " and " + std::to_string(foreign.size() - 3) + " more";
  fail(shown,
       "holds what no earlier run put there (" + list + "); nothing was touched. Move it away or choose another --out");
}

/// Returns whether the folder is there. Throws if it is anything but absent, empty, or an older set.
bool replaceable(const fs::path& folder, Named& named) {
  std::error_code error;
  const fs::file_status status = fs::symlink_status(folder, error);
  if (status.type() == fs::file_type::not_found) return false;
  if (status.type() == fs::file_type::none) fail(folder, "cannot look at this folder: " + error.message());
  if (status.type() == fs::file_type::symlink)
    fail(folder, "is a symbolic link; name the folder that it points to instead");
  if (status.type() != fs::file_type::directory) fail(folder, "is not a folder; choose another --out");
  refuse_foreign(folder, folder, named);
  return true;
}

bool exchange(const fs::path& a, const fs::path& b) {
#ifdef RENAME_EXCHANGE
  return ::renameat2(AT_FDCWD, a.c_str(), AT_FDCWD, b.c_str(), RENAME_EXCHANGE) == 0;
#else
  (void)a, (void)b;
  errno = ENOSYS;
  return false;
#endif
}

void rename_or_fail(const fs::path& from, const fs::path& to) {
  if (::rename(from.c_str(), to.c_str()) != 0) fail_errno(to, "cannot put the new files in place");
}

struct Places {
  fs::path folder, parent, fresh, aside;
};

Places places_for(const std::string& folder) {
  if (folder.empty()) throw FileError("--out", "names no folder");
  fs::path path = fs::absolute(folder).lexically_normal();
  if (!path.has_filename()) path = path.parent_path();
  if (!path.has_filename()) fail(path, "cannot be replaced; choose another --out");
  const std::string name = path.filename().string();
  return {path, path.parent_path(), path.parent_path() / ("." + name + ".bedwright-new"),
          path.parent_path() / ("." + name + ".bedwright-old")};
}

/// What a killed run may have left: half a new set, an old one already exchanged, or (where the file system knows
/// no exchange) the old set moved aside with nothing in its place.
void clean_up_after_killed_run(const Places& p) {
  remove_tree(p.fresh);
  if (fs::symlink_status(p.aside).type() != fs::file_type::directory) return;
  if (fs::symlink_status(p.folder).type() == fs::file_type::not_found)
    rename_or_fail(p.aside, p.folder);
  else
    remove_tree(p.aside);
}

void check_relative(const std::string& name) {
  const fs::path path(name);
  if (name.empty() || path.is_absolute() || path.lexically_normal() != path)
    throw Error("a set's file must have a plain relative path: " + name);
  for (const fs::path& step : path)
    if (step == ".." || step == ".") throw Error("a set's file must have a plain relative path: " + name);
}

void write_fresh(const fs::path& fresh, const std::map<std::string, std::string>& files) {
  if (::mkdir(fresh.c_str(), 0777) != 0) fail_errno(fresh.parent_path(), "cannot create a folder here");
  std::set<fs::path> folders;
  for (const auto& [name, bytes] : files) {
    const fs::path path = fresh / name;
    fs::create_directories(path.parent_path());
    for (fs::path up = path.parent_path(); up != fresh; up = up.parent_path()) folders.insert(up);
    write_new(path, bytes);
  }
  for (const fs::path& folder : folders) flush_folder(folder);
  flush_folder(fresh);
}

void swap_in(const Places& p, bool old_set, Named& named) {
  if (!old_set) return rename_or_fail(p.fresh, p.folder);
  if (exchange(p.fresh, p.folder)) {
    // Someone may have added a file between the look and the exchange: then put everything back.
    try {
      refuse_foreign(p.fresh, p.folder, named);
    } catch (const FileError&) {
      if (!exchange(p.fresh, p.folder))
        fail_errno(p.fresh, "holds the folder's former contents; move them back by hand");
      throw;
    }
    return;
  }
  if (errno != EINVAL && errno != ENOSYS) fail_errno(p.folder, "cannot put the new files in place");
  rename_or_fail(p.folder, p.aside);
  if (::rename(p.fresh.c_str(), p.folder.c_str()) != 0) {
    const std::string why = reason(errno);
    rename_or_fail(p.aside, p.folder);
    fail(p.folder, "cannot put the new files in place: " + why);
  }
}

fs::path made_parent(const fs::path& parent) {
  std::error_code error;
  fs::create_directories(parent, error);
  if (error) fail(parent, "cannot create this folder: " + error.message());
  return parent;
}

}  // namespace

void write_set(const std::string& folder, const std::map<std::string, std::string>& files) {
  for (const auto& entry : files) check_relative(entry.first);
  try {
    const Places p = places_for(folder);
    const FolderLock lock(made_parent(p.parent));
    clean_up_after_killed_run(p);
    Named named;
    const bool old_set = replaceable(p.folder, named);
    try {
      write_fresh(p.fresh, files);
      swap_in(p, old_set, named);
    } catch (...) {
      remove_tree(p.fresh);
      throw;
    }
    lock.flush();
    remove_tree(p.fresh);
    remove_tree(p.aside);
  } catch (const fs::filesystem_error& e) {
    throw FileError(folder, e.code().message());
  }
}

void write_file(const std::string& path, const std::string& bytes) {
  try {
    const Places p = places_for(path);
    const FolderLock lock(made_parent(p.parent));
    remove_tree(p.fresh);
    try {
      write_new(p.fresh, bytes);
      rename_or_fail(p.fresh, p.folder);
    } catch (...) {
      remove_tree(p.fresh);
      throw;
    }
    lock.flush();
  } catch (const fs::filesystem_error& e) {
    throw FileError(path, e.code().message());
  }
}

std::string read_file(const std::string& path, std::size_t most_bytes) {
  Descriptor fd(::open(path.c_str(), O_RDONLY | O_CLOEXEC));
  if (fd.get() < 0) fail_errno(path, "cannot open");
  std::string bytes;
  std::vector<char> block(std::size_t(1) << 16);
  for (;;) {
    const ssize_t n = ::read(fd.get(), block.data(), block.size());
    if (n < 0 && errno == EINTR) continue;
    if (n < 0) fail_errno(path, "cannot read");
    if (n == 0) return bytes;
    if (bytes.size() + static_cast<std::size_t>(n) > most_bytes)
      fail(path, "is larger than the limit of " + std::to_string(most_bytes) + " bytes");
    bytes.append(block.data(), static_cast<std::size_t>(n));
  }
}

}  // namespace bedwright
