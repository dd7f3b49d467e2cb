// A store as another program sees it.
#pragma once

#include <cstdio>
#include <filesystem>
#include <memory>
#include <string>

/// What sqlite3, the program, answers or complains of; without the last line's end.
inline std::string ask(const std::filesystem::path& store, const std::string& sql) {
  const std::string command = "sqlite3 '" + store.string() + "' \"" + sql + "\" 2>&1";
  std::unique_ptr<FILE, int (*)(FILE*)> pipe(popen(command.c_str(), "r"), pclose);
  std::string out;
  char buffer[512];
  while (std::fgets(buffer, sizeof buffer, pipe.get()) != nullptr) out += buffer;
  while (!out.empty() && out.back() == '\n') out.pop_back();
  return out;
}
