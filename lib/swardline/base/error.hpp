// How a command ends, and the one error that carries its place and remedy.
#pragma once

#include <stdexcept>
#include <string>

#include "swardline/base/place.hpp"

namespace swardline {

/// Exit status of the command-line tool.
enum class Status {
  done = 0,
  needs_person = 1,  ///< done, but a STOP flag or a shortfall needs a person
  command_line = 2,
  input = 3,   ///< the plan, a sheet or an input
  io = 4,      ///< reading or writing failed
  defect = 70  ///< a fault of ours
};

/// One line: place first, what is wrong, remedy last.
/// what() is "place: problem Remedy" without a line break.
class Error : public std::runtime_error {
 public:
  Error(Status status, const Place& place, const std::string& problem, const std::string& remedy);
  [[nodiscard]] Status status() const noexcept { return status_; }

 private:
  Status status_;
};

/// The plan, a sheet or an input is not usable (exit 3).
class InputError : public Error {
 public:
  InputError(const Place& place, const std::string& problem, const std::string& remedy = {})
      : Error(Status::input, place, problem, remedy) {}
};

/// Reading or writing failed for a reason outside the input's content (exit 4).
class IoError : public Error {
 public:
  IoError(const Place& place, const std::string& problem, const std::string& remedy = {})
      : Error(Status::io, place, problem, remedy) {}
};

/// Something this code promised itself did not hold (exit 70).
class Defect : public Error {
 public:
  explicit Defect(const std::string& problem)
      : Error(Status::defect, Place{}, problem, "This is a fault of swardline: please report it.") {}
};

}  // namespace swardline
