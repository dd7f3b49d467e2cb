#include "swardline/estimate/evaluated.hpp"
