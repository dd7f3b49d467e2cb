// Text files of any usual encoding, brought to UTF-8.
#include <fmt/format.h>
#include <iconv.h>

#include <algorithm>
#include <array>
#include <cerrno>
#include <cstring>

#include "swardline/base/error.hpp"
#include "swardline/base/files.hpp"
#include "swardline/base/text.hpp"
#include "swardline/returns/table.hpp"

namespace swardline {
namespace {

constexpr std::string_view replacement = "\xEF\xBF\xBD";  // U+FFFD

/// What the first bytes say a file is.
enum class Content { text, utf16_little, utf16_big, binary, markup, other };

struct Signature {
  std::string_view bytes;
  Content content;
};
constexpr std::array<Signature, 8> signatures = {{{"\xFF\xFE", Content::utf16_little},
                                                  {"\xFE\xFF", Content::utf16_big},
                                                  {"PK\x03\x04", Content::other},          // xlsx, ods
                                                  {"\xD0\xCF\x11\xE0", Content::other},    // xls
                                                  {"SQLite format 3", Content::other},
                                                  {"fgb\x03", Content::other},             // FlatGeobuf
                                                  {"{", Content::markup},
                                                  {"<", Content::markup}}};

Content content_of(std::string_view head) {
  for (const Signature& one : signatures)
    if (head.starts_with(one.bytes)) return one.content;
  if (head.starts_with("\xEF\xBB\xBF")) head.remove_prefix(3);
  const std::size_t first = head.find_first_not_of(" \t\r\n");
  if (first != std::string_view::npos && (head[first] == '<' || head[first] == '{')) return Content::markup;
  return head.find('\0') == std::string_view::npos ? Content::text : Content::binary;
}

/// A stream of bytes into UTF-8 (iconv, POSIX). What has no character becomes U+FFFD and is counted.
class Recoder {
 public:
  explicit Recoder(const char* from) : converter_(::iconv_open("UTF-8", from)) {
    // NOLINTNEXTLINE(performance-no-int-to-ptr): POSIX says so
    if (converter_ == reinterpret_cast<iconv_t>(-1))
      throw IoError({}, fmt::format("this system cannot read the encoding {}", from),
                    "Save the file as UTF-8.");
  }
  ~Recoder() { ::iconv_close(converter_); }
  Recoder(const Recoder&) = delete;
  Recoder& operator=(const Recoder&) = delete;

  void add(std::string_view bytes, std::string& to) {
    left_ += bytes;
    char* in = left_.data();
    std::size_t in_left = left_.size();
    while (in_left > 0) {
      std::array<char, 1 << 14> block;  // NOLINT(cppcoreguidelines-pro-type-member-init): filled below
      char* out = block.data();
      std::size_t out_left = block.size();
      const std::size_t done = ::iconv(converter_, &in, &in_left, &out, &out_left);
      const int problem = done == static_cast<std::size_t>(-1) ? errno : 0;
      to.append(block.data(), block.size() - out_left);
      if (problem == EINVAL) break;  // the rest of a character is in the next block
      if (problem != EILSEQ) continue;
      to += replacement;
      ++unknown_;
      ++in;
      --in_left;
    }
    left_.erase(0, left_.size() - in_left);
  }
  [[nodiscard]] std::size_t unknown() const { return unknown_; }
  [[nodiscard]] bool cut_short() const { return !left_.empty(); }

 private:
  iconv_t converter_;
  std::string left_;
  std::size_t unknown_ = 0;
};

/// Watches text that grows block by block.
class Watch {
 public:
  explicit Watch(const std::string& text) : text_(text) {}
  /// After each block. False: what has come is enough to be refused, for its line or the whole is too long.
  bool go_on() {
    const std::size_t end = std::min(text_.find_first_of("\r\n", seen_), text_.size());
    if (end - line_ > Table::longest_row) return false;
    if (end < text_.size()) line_ = text_.find_last_of("\r\n") + 1;
    seen_ = text_.size();
    return text_.size() <= Table::largest;
  }

 private:
  const std::string& text_;
  std::size_t seen_ = 0, line_ = 0;
};

std::string recoded(const std::filesystem::path& file, std::size_t mark, Recoder& recoder) {
  std::string text;
  Watch watch(text);
  read_in_blocks(file, [&](std::string_view block) {
    block.remove_prefix(std::min(mark, block.size()));
    mark = 0;
    recoder.add(block, text);
    return watch.go_on();
  });
  return text;
}

bool named_as_text(const std::filesystem::path& file) {
  const std::string extension = lower_ascii(file.extension().string());
  return extension == ".csv" || extension == ".txt" || extension == ".tsv";
}

void refuse_nul(std::string_view text, const std::string& name) {
  const std::size_t at = text.find('\0');
  if (at == std::string_view::npos) return;
  const auto lines = 1 + std::count(text.begin(), text.begin() + static_cast<std::ptrdiff_t>(at), '\n');
  throw InputError({name, static_cast<int>(lines), {}}, "holds a NUL byte: this is no text, or it is damaged",
                   "Save the table as CSV in UTF-8, and send that.");
}

std::string utf16(const std::filesystem::path& file, const char* encoding, const std::string& name) {
  Recoder recoder(encoding);
  std::string text = recoded(file, 2, recoder);
  refuse_nul(text, name);
  if (recoder.unknown() > 0 || recoder.cut_short())
    throw InputError({name, 0, {}}, "begins like UTF-16 but is damaged",
                     "Save the table as CSV in UTF-8, and send that.");
  return text;
}

std::string windows_1252(const std::filesystem::path& file, const std::string& name, Flags& flags) {
  Recoder recoder("CP1252");
  std::string text = recoded(file, 0, recoder);
  flags.add(Severity::note, "code page", {name, 0, {}},
            "is not UTF-8; it was read as Windows code page 1252.",
            "Look at names and notes with accents; save as CSV UTF-8 next time.");
  if (recoder.unknown() > 0)
    flags.add(Severity::ask, "unknown characters", {name, 0, {}},
              fmt::format("{} bytes are no characters of code page 1252; they show as \xEF\xBF\xBD.",
                          grouped(static_cast<std::int64_t>(recoder.unknown()))),
              "Save the table as CSV in UTF-8 and send it again if names or notes matter there.");
  return text;
}

}  // namespace

std::optional<std::string> read_text(const std::filesystem::path& file, const std::string& name,
                                     Flags& flags) {
  std::string text;
  std::error_code unknown_size;
  const auto size = std::filesystem::file_size(file, unknown_size);
  if (!unknown_size) text.reserve(std::min<std::size_t>(size, Table::largest) + 1);
  Content content = Content::text;
  bool first = true, cut = false;
  Watch watch(text);
  read_in_blocks(file, [&](std::string_view block) {
    if (first) content = content_of(block);
    first = false;
    if (content != Content::text && !(content == Content::binary && named_as_text(file))) return false;
    text += block;
    cut = !watch.go_on();
    return !cut;
  });
  if (content == Content::utf16_little) return utf16(file, "UTF-16LE", name);
  if (content == Content::utf16_big) return utf16(file, "UTF-16BE", name);
  if (text.empty() && content != Content::text) return std::nullopt;
  refuse_nul(text, name);
  if (text.starts_with("\xEF\xBB\xBF")) text.erase(0, 3);
  if (!cut && !is_utf8(text)) return windows_1252(file, name, flags);
  return text;
}

}  // namespace swardline
