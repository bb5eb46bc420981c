/*
 * process_roles.h - what process data mean for the diagnosis: roles by DDI.
 */
#ifndef DRAWBAR_TRACKING_PROCESS_ROLES_H
#define DRAWBAR_TRACKING_PROCESS_ROLES_H

#include "drawbar/process_data.h"
#include "tracking/sighting.h"

/*
 * The role of a value, with its SI value; false where the DDI plays none.
 * `subject` stays to be set.
 */
bool process_role(const struct dbr_process_data *data, struct role_value *out);

/* Whether a description lists process data that play a role. */
bool process_role_listed(const struct dbr_device *device, enum dbr_role role);

#endif
