// Owning handles for PROJ's C interface. Private to geo.
#pragma once

#include <proj.h>
#include <proj_experimental.h>

#include <memory>
#include <string>

namespace swardline {

struct ProjFree {
  void operator()(PJ* object) const { proj_destroy(object); }
  void operator()(PJ_CONTEXT* context) const { proj_context_destroy(context); }
  void operator()(PJ_OBJ_LIST* list) const { proj_list_destroy(list); }
  void operator()(PJ_OPERATION_FACTORY_CONTEXT* factory) const {
    proj_operation_factory_context_destroy(factory);
  }
};
using ProjObject = std::unique_ptr<PJ, ProjFree>;
using ProjContext = std::unique_ptr<PJ_CONTEXT, ProjFree>;
using ProjList = std::unique_ptr<PJ_OBJ_LIST, ProjFree>;
using ProjFactory = std::unique_ptr<PJ_OPERATION_FACTORY_CONTEXT, ProjFree>;

/// A context that never asks the network and keeps its complaints to itself.
[[nodiscard]] ProjContext new_proj_context();

/// This thread's context.
[[nodiscard]] PJ_CONTEXT* proj_context();

/// What PROJ last complained of through this thread's contexts, emptied by reading.
[[nodiscard]] std::string proj_message();

}  // namespace swardline
