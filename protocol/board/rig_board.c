/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "protocol/board/rig_board.h"
